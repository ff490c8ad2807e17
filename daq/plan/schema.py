"""The plan file as TOML: its tables, their keys, and the JSON Schema. No rules across keys."""

from typing import Annotated, Any, Literal, TypeAlias

import msgspec

SCHEMA = 1
MOST_FILE_BYTES = 256 * 1024
MOST_NAME = 80
MOST_REPEATS = 100
MOST_OPERATORS = 10
MOST_TRIALS = 10
MOST_SEED = 2**31 - 1
MOST_CONFIDENCE = 0.9999

# Texts are checked by `fields`, which gives better reasons; the patterns are for the JSON
# Schema only. (msgspec 0.22 also corrupts memory where a union has both a text pattern and bounds
# on a list, so runtime bounds on texts and lists are kept out of these types altogether.)
LengthText: TypeAlias = Annotated[
    str,
    msgspec.Meta(
        description='A length with its unit, like "59.97 mm" or "2.3610 in"',
        extra_json_schema={"pattern": r"^\s*[+-]?\d{1,6}(\.\d{1,9})? *(mm|um|in)\s*$"},
    ),
]
LimitText: TypeAlias = (
    LengthText
    | Annotated[
        list[LengthText],
        msgspec.Meta(
            description="The limit, then the printed cross-check in the other unit",
            extra_json_schema={"minItems": 2, "maxItems": 2},
        ),
    ]
)
Band: TypeAlias = Annotated[
    list[LengthText],
    msgspec.Meta(
        description="The smallest, then the largest",
        extra_json_schema={"minItems": 2, "maxItems": 2},
    ),
]
Name: TypeAlias = Annotated[
    str,
    msgspec.Meta(
        extra_json_schema={
            "minLength": 1,
            "maxLength": MOST_NAME,
            "pattern": r"^[^/\x00-\x1f\x7f]+$",
        }
    ),
]
Angle: TypeAlias = Annotated[
    int,
    msgspec.Meta(
        description="Whole degrees; 180 degrees on is the same diameter",
        extra_json_schema={"minimum": 0, "maximum": 179},
    ),
]
Names: TypeAlias = Annotated[
    list[Name],
    msgspec.Meta(
        description='Several journals alike, like ["M1", "M2"], measured in this order; instead of '
        "name",
        extra_json_schema={"minItems": 1, "uniqueItems": True},
    ),
]
GroupName: TypeAlias = Annotated[
    Name,
    msgspec.Meta(
        description="The group of the journal. Refused where it differs from another group's name "
        "only by case, plural, one letter or two letters exchanged: that is a slip of the hand"
    ),
]
LowLimit: TypeAlias = Annotated[
    LimitText | None,
    msgspec.Meta(
        description="The smallest diameter that may serve; every journal needs one, here or in its "
        "[[group]] or in [defaults]"
    ),
]
HighLimit: TypeAlias = Annotated[
    LimitText | None, msgspec.Meta(description="The largest diameter of a new or ground journal")
]
OutOfRound: TypeAlias = Annotated[
    LimitText | None, msgspec.Meta(description="The most out-of-round, on the diameter")
]
Taper: TypeAlias = Annotated[
    LimitText | None, msgspec.Meta(description="The most taper, on the diameter")
]
TaperPer: TypeAlias = Annotated[
    LengthText | None,
    msgspec.Meta(
        description="The length along the journal that taper is stated for; left out: the whole "
        "journal"
    ),
]
Window: TypeAlias = Annotated[
    LengthText,
    msgspec.Meta(description="How far outside its limits a reading may lie and be believed"),
]
Access: TypeAlias = Annotated[
    Literal["open", "after-strip"],
    msgspec.Meta(description="after-strip: measured last, when the rest is stripped"),
]
JournalKind: TypeAlias = Literal["main", "rod", "other"]
Kind: TypeAlias = Annotated[
    JournalKind,
    msgspec.Meta(
        description="How the journal is drawn, nothing else: main on the axis, rod beside it; left "
        "out: by the names of its group and its own"
    ),
]
Typed: TypeAlias = Annotated[
    Literal["once", "twice"],
    msgspec.Meta(description="twice: readings typed by hand are asked for twice"),
]
Held: TypeAlias = Annotated[
    Literal["ask", "press-again"],
    msgspec.Meta(
        description="What answers for a reading in question: ask, a typed word. press-again, also "
        "a second press within 10 s where it came too soon or repeats the one before"
    ),
]
Stations: TypeAlias = Annotated[
    list[Name],
    msgspec.Meta(
        description="Where along the journal it is measured, in this order",
        extra_json_schema={"minItems": 1},
    ),
]
StationsAt: TypeAlias = Annotated[
    list[LengthText],
    msgspec.Meta(
        description="Where each station lies along the journal, in the order of the stations",
        extra_json_schema={"minItems": 1},
    ),
]
Angles: TypeAlias = Annotated[list[Angle], msgspec.Meta(extra_json_schema={"minItems": 1})]
Repeats: TypeAlias = Annotated[
    int,
    msgspec.Meta(
        description="How many readings one after another",
        extra_json_schema={"minimum": 1, "maximum": MOST_REPEATS},
    ),
]
Difference: TypeAlias = Annotated[
    str, msgspec.Meta(description='A temperature difference with its unit, like "0.5 K"')
]
Expansion: TypeAlias = Annotated[
    str, msgspec.Meta(description='A coefficient with its unit, like "11.5e-6 /K"')
]
Interval: TypeAlias = Annotated[
    str,
    msgspec.Meta(
        description='A time with its unit, like "0.7 s" or "700 ms"; "0 s" switches it off',
        extra_json_schema={"pattern": r"^\s*\d{1,6}(\.\d{1,6})? *(s|ms)\s*$"},
    ),
]
FormLimit: TypeAlias = Annotated[
    Literal["not-over", "under"],
    msgspec.Meta(
        description="not-over: a value equal to the limit is good (the manual says: must not "
        "exceed); under: it is not (the manual says: must be less than)"
    ),
]


class CheckTable(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    """The gauge against a known stack."""

    stack: str | None = None
    readings: Repeats = 5
    max_error: LengthText | None = None
    max_spread: LengthText | None = None
    max_drift: LengthText | None = None
    max_age_min: Annotated[float, msgspec.Meta(extra_json_schema={"exclusiveMinimum": 0})] = 240
    near: LengthText = "1 mm"
    least_interval: Interval = "0.3 s"
    power_loss_may_lose_zero: bool = True


class TemperatureTable(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    """Materials of part, gauge and stack, and how well their temperatures are known."""

    part_material: str | None = None
    part_expansion: Expansion | None = None
    part_expansion_limit: Expansion | None = None
    gauge_expansion: Expansion | None = None
    gauge_expansion_limit: Expansion | None = None
    stack_expansion: Expansion | None = None
    stack_expansion_limit: Expansion | None = None
    thermometer_limit: Difference = "0.5 K"
    room_limit: Difference = "5 K"
    difference_limit: Difference = "1 K"


class DecisionTable(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    """How a size is judged against its limits."""

    rule: Literal["guarded", "simple"] = "guarded"
    confidence: Annotated[
        float,
        msgspec.Meta(
            description="How sure a verdict must be: a probability, one-sided",
            extra_json_schema={"exclusiveMinimum": 0.5, "maximum": MOST_CONFIDENCE},
        ),
    ] = 0.95
    state: Annotated[
        Literal["used", "ground"],
        msgspec.Meta(
            description="used: a worn part, which the high limit need not be shown for; ground: "
            "one just made, held to both limits"
        ),
    ] = "used"
    coverage: Annotated[
        float,
        msgspec.Meta(
            description="Without effect: sessions of earlier versions stated their expanded "
            "uncertainty for this probability",
            extra_json_schema={"minimum": 0.5, "maximum": 0.9999},
        ),
    ] = 0.9545


class StudyTable(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    """A gauge study: every journal by every operator, several times over."""

    operators: Annotated[
        list[Name], msgspec.Meta(extra_json_schema={"minItems": 2, "maxItems": MOST_OPERATORS})
    ]
    trials: Annotated[
        int, msgspec.Meta(extra_json_schema={"minimum": 2, "maximum": MOST_TRIALS})
    ] = 3
    order_seed: Annotated[
        int, msgspec.Meta(extra_json_schema={"minimum": 0, "maximum": MOST_SEED})
    ] = 1


class UndersizeTable(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    """One undersize that there are bearings for."""

    name: Name
    by: LimitText
    low: LimitText
    high: LimitText | None = None
    worn_low: LimitText | None = None
    bearing_only: bool = False


class JournalKeys(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    """What may be said of a journal in its own table, or for several in their group's or in
    [defaults]; None where it is not said there. The nearest counts: journal, group, defaults.
    """

    low: LowLimit = None
    high: HighLimit = None
    out_of_round: OutOfRound = None
    taper: Taper = None
    taper_per: TaperPer = None
    form_limit: FormLimit | None = None
    access: Access | None = None
    kind: Kind | None = None
    stations: Stations | None = None
    station_at: StationsAt | None = None
    angles_deg: Angles | None = None
    repeats: Repeats | None = None
    window: Window | None = None


class GroupTable(JournalKeys, forbid_unknown_fields=True, kw_only=True):
    """Journals that share a stack of their own, limits, or are ground together. A journal key
    written here holds for every journal of the group that does not say otherwise.
    """

    name: Name
    stack: str | None = None
    undersize: list[UndersizeTable] = []
    greatest_undersize: LimitText | None = None
    present_undersize: Name | None = None
    clean_up: LengthText | None = None
    housing_bore: Band | None = None
    shell_wall: Band | None = None
    oil_clearance: Band | None = None


class DefaultsTable(JournalKeys, forbid_unknown_fields=True, kw_only=True):
    """For every journal that does not say otherwise, in its own table or in its group's."""

    group: GroupName | None = None
    stations: Stations = msgspec.field(default_factory=lambda: ["front", "rear"])
    angles_deg: Angles = msgspec.field(default_factory=lambda: [0, 45, 90, 135])
    repeats: Repeats = 1
    window: Window = "0.5 mm"
    form_limit: FormLimit = "not-over"
    access: Access = "open"
    least_interval: Interval = "0.7 s"
    typed: Typed = "once"
    held: Held = "ask"


class JournalTable(JournalKeys, forbid_unknown_fields=True, kw_only=True):
    """One bearing surface, or several alike, and the limits as the maker states them. What is left
    out here is as its [[group]] says, else as [defaults] says.
    """

    name: Name | None = None
    names: Names | None = None
    group: GroupName | None = None


class PlanFile(
    msgspec.Struct, forbid_unknown_fields=True, kw_only=True, rename={"plan_schema": "schema"}
):
    """A journalbridge plan."""

    plan_schema: Literal[1]
    part: str
    check: CheckTable = msgspec.field(default_factory=CheckTable)
    temperature: TemperatureTable | None = None
    decision: DecisionTable = msgspec.field(default_factory=DecisionTable)
    study: StudyTable | None = None
    group: list[GroupTable] = []
    defaults: DefaultsTable = msgspec.field(default_factory=DefaultsTable)
    journal: Annotated[list[JournalTable], msgspec.Meta(extra_json_schema={"minItems": 1})]


def json_schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of the plan file; rules across keys are said in the guide."""
    schema = msgspec.json.schema(PlanFile)
    for table in schema["$defs"].values():  # a docstring over two lines brings its indent along
        table["description"] = " ".join(table["description"].split())
    # One of the two, neither both nor none: more than a record's fields can say.
    either = [{"required": ["name"]}, {"required": ["names"]}]
    schema["$defs"]["JournalTable"]["oneOf"] = either
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
