"""The plan file: what to measure. TOML text to a frozen, checked record; errors name the key."""

from pathlib import Path
from typing import Annotated, Any, Literal, TypeAlias

import msgspec

from daq.errors import PlanError
from daq.terms import EXACT, Length, Limits, parse_length
from drivers.toml_file import WrongKey, converted, table_in, text_in

SCHEMA = 1
MOST_FILE_BYTES = 256 * 1024
MOST_POSITIONS = 10_000
MOST_NAME = 80
MOST_REPEATS = 100
MOST_CHECK_READINGS = 100
MOST_AGE_MIN = 100_000

# Texts are checked by this module's own functions, which give better reasons; the patterns are for
# the JSON Schema only. (msgspec 0.22 also corrupts memory where a union has both a text pattern and
# bounds on a list, so runtime bounds on texts and lists are kept out of these types altogether.)
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
Stations: TypeAlias = Annotated[list[Name], msgspec.Meta(extra_json_schema={"minItems": 1})]
Angles: TypeAlias = Annotated[list[Angle], msgspec.Meta(extra_json_schema={"minItems": 1})]
Repeats: TypeAlias = Annotated[
    int, msgspec.Meta(extra_json_schema={"minimum": 1, "maximum": MOST_REPEATS})
]


class _CheckTable(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    """The gauge against a known stack."""

    stack: str | None = None
    readings: Repeats = 5
    max_error: LengthText | None = None
    max_spread: LengthText | None = None
    max_drift: LengthText | None = None
    max_age_min: Annotated[float, msgspec.Meta(extra_json_schema={"exclusiveMinimum": 0})] = 240
    near: LengthText = "1 mm"
    power_loss_may_lose_zero: bool = True


class _GroupTable(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    """Journals that share a stack of their own."""

    name: Name
    stack: str | None = None


class _DefaultsTable(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    """For every journal that does not say otherwise."""

    stations: Stations = msgspec.field(default_factory=lambda: ["front", "rear"])
    angles_deg: Angles = msgspec.field(default_factory=lambda: [0, 45, 90, 135])
    repeats: Repeats = 1
    window: LengthText = "0.5 mm"


class _JournalTable(msgspec.Struct, forbid_unknown_fields=True, kw_only=True):
    """One bearing surface and its limits as the maker states them."""

    name: Name
    group: Name | None = None
    low: LimitText
    high: LimitText | None = None
    out_of_round: LimitText | None = None
    taper: LimitText | None = None
    access: Literal["open", "after-strip"] = "open"
    stations: Stations | None = None
    angles_deg: Angles | None = None
    repeats: Repeats | None = None
    window: LengthText | None = None


class PlanFile(
    msgspec.Struct, forbid_unknown_fields=True, kw_only=True, rename={"plan_schema": "schema"}
):
    """A journalbridge plan."""

    plan_schema: Literal[1]
    part: str
    check: _CheckTable = msgspec.field(default_factory=_CheckTable)
    group: list[_GroupTable] = []
    defaults: _DefaultsTable = msgspec.field(default_factory=_DefaultsTable)
    journal: Annotated[list[_JournalTable], msgspec.Meta(extra_json_schema={"minItems": 1})]


class CheckPlan(msgspec.Struct, frozen=True):
    """How the gauge is proven. Limits left out are None; `stack` is a size or a saved name."""

    stack: str | None
    readings: int
    max_error: Length | None
    max_spread: Length | None
    max_drift: Length | None
    max_age_us: int
    near: Length
    power_loss_may_lose_zero: bool


class JournalPlan(msgspec.Struct, frozen=True):
    """One journal to measure. `key` is its place in the file, for messages, `group_key` that of its
    group, empty without one; `group_stack` is the stack of its group, a size or a saved name, if
    that has one of its own.
    """

    key: str
    name: str
    group: str
    limits: Limits
    stations: tuple[str, ...]
    angles_deg: tuple[int, ...]
    repeats: int
    window: Length
    group_stack: str | None
    group_key: str
    is_after_strip: bool


class Plan(msgspec.Struct, frozen=True):
    """A whole plan, checked. `text` is the file as read; `source` names it in messages."""

    source: str
    text: str
    part: str
    check: CheckPlan
    journals: tuple[JournalPlan, ...]
    default_window: Length


def read_plan(path: Path) -> Plan:
    """The plan in a file; raises PlanError, also where the file cannot be read."""
    try:
        return parse_plan(text_in(path, MOST_FILE_BYTES), str(path))
    except WrongKey as wrong:
        raise PlanError(path, wrong.key, wrong.reason) from wrong


def parse_plan(text: str, source: str) -> Plan:
    """The plan in `text`; raises PlanError naming `source` and the key."""
    try:
        return _plan(converted(table_in(text, SCHEMA), PlanFile), text, source)
    except WrongKey as wrong:
        raise PlanError(source, wrong.key, wrong.reason) from wrong


def _name(text: str, key: str) -> str:
    """A name that may stand in a place and a table; raises WrongKey."""
    if not text.strip() or len(text) > MOST_NAME or "/" in text or not text.isprintable():
        raise WrongKey(
            key, f"{text[:90]!r}: 1 to {MOST_NAME} characters without / or control characters"
        )
    return text


def _between(number: float, low: float, high: float, key: str) -> None:
    if not low <= number <= high:
        is_endless = isinstance(number, int) and number.bit_length() > 64
        shown = "this number" if is_endless else f"{number:g}"
        raise WrongKey(key, f"{shown} is not between {low:g} and {high:g}")


def _length(text: str, key: str) -> Length:
    try:
        return parse_length(text)
    except ValueError as error:
        raise WrongKey(key, str(error)) from error


def _positive(text: str, key: str) -> Length:
    length = _length(text, key)
    if length.value <= 0:
        raise WrongKey(key, f"{length} is not above zero")
    return length


def _limit(spec: str | list[str] | None, key: str) -> Length | None:
    """A limit; with a cross-check in the other unit, the two must agree."""
    if spec is None:
        return None
    if isinstance(spec, str):
        return _positive(spec, key)
    if len(spec) != 2:
        raise WrongKey(key, "a list holds the limit and one cross-check in the other unit")
    limit, cross = (_positive(text, key) for text in spec)
    if (limit.unit == "in") == (cross.unit == "in"):
        raise WrongKey(key, f"the cross-check {cross} is not in the other unit than {limit}")
    off = EXACT.subtract(limit.mm, cross.mm).copy_abs()
    if off > cross.step_mm:
        raise WrongKey(
            key,
            f"{limit} and its cross-check {cross} differ by {off:f} mm, more than one unit of the "
            f"cross-check's last digit ({cross.step_mm:f} mm). One of them is wrong: see the "
            "maker's manual",
        )
    return limit


def _plan(file: PlanFile, text: str, source: str) -> Plan:
    groups = _groups(file)
    check = file.check
    _between(check.readings, 1, MOST_CHECK_READINGS, "check.readings")
    _between(check.max_age_min, 1e-6, MOST_AGE_MIN, "check.max_age_min")
    if len(file.part) > 200:
        raise WrongKey("part", "at most 200 characters")
    if not file.journal:
        raise WrongKey("journal", "a plan needs at least one journal")
    _places(file.defaults, "defaults")
    plan_check = CheckPlan(
        stack=check.stack,
        readings=check.readings,
        max_error=_limit(check.max_error, "check.max_error"),
        max_spread=_limit(check.max_spread, "check.max_spread"),
        max_drift=_limit(check.max_drift, "check.max_drift"),
        max_age_us=round(check.max_age_min * 60_000_000),
        near=_positive(check.near, "check.near"),
        power_loss_may_lose_zero=check.power_loss_may_lose_zero,
    )
    journals = []
    seen: set[str] = set()
    for number, table in enumerate(file.journal, 1):
        key = f"journal[{number}]"
        if table.name in seen:
            raise WrongKey(f"{key}.name", f"a second journal called {table.name!r}")
        seen.add(table.name)
        journals.append(_journal(table, key, file.defaults, groups))
    _no_high(plan_check, journals)
    total = sum(len(j.stations) * len(j.angles_deg) * j.repeats for j in journals)
    if total > MOST_POSITIONS:
        raise WrongKey("journal", f"{total} positions; at most {MOST_POSITIONS}")
    return Plan(
        source=source,
        text=text,
        part=file.part,
        check=plan_check,
        journals=tuple(journals),
        default_window=_positive(file.defaults.window, "defaults.window"),
    )


def _groups(file: PlanFile) -> dict[str, tuple[str, str | None]]:
    """By name: the group's key in the file, and its stack if it has one of its own."""
    groups: dict[str, tuple[str, str | None]] = {}
    for number, table in enumerate(file.group, 1):
        key = f"group[{number}]"
        _name(table.name, f"{key}.name")
        if table.name in groups:
            raise WrongKey(f"{key}.name", f"a second group called {table.name!r}")
        groups[table.name] = (key, table.stack)
    return groups


def _places(table: _DefaultsTable | _JournalTable, key: str) -> None:
    """Check where a journal is measured, as far as this table says so; raises WrongKey."""
    for station in table.stations or ():
        _name(station, f"{key}.stations")
    for angle in table.angles_deg or ():
        _between(angle, 0, 179, f"{key}.angles_deg")
    for name, values in (("stations", table.stations), ("angles_deg", table.angles_deg)):
        if values is None:
            continue
        if not values:
            raise WrongKey(f"{key}.{name}", "an empty list")
        if len(set(values)) != len(values):
            raise WrongKey(f"{key}.{name}", "the same place twice; use repeats")
    if table.repeats is not None:
        _between(table.repeats, 1, MOST_REPEATS, f"{key}.repeats")
    if table.window is not None:
        _positive(table.window, f"{key}.window")


def _journal(
    table: _JournalTable,
    key: str,
    defaults: _DefaultsTable,
    groups: dict[str, tuple[str, str | None]],
) -> JournalPlan:
    _name(table.name, f"{key}.name")
    _places(table, key)
    if table.group is not None:
        _name(table.group, f"{key}.group")
    low = _limit(table.low, f"{key}.low")
    assert low is not None
    high = _limit(table.high, f"{key}.high")
    if high is not None and low.mm >= high.mm:
        raise WrongKey(f"{key}.low", f"limits upside down: low {low} is not under high {high}")
    stations = defaults.stations if table.stations is None else table.stations
    angles = defaults.angles_deg if table.angles_deg is None else table.angles_deg
    repeats = defaults.repeats if table.repeats is None else table.repeats
    window = defaults.window if table.window is None else table.window
    group_key, group_stack = groups.get(table.group or "", ("", None))
    return JournalPlan(
        key=key,
        name=table.name,
        group=table.group or "",
        limits=Limits(
            low=low,
            high=high,
            out_of_round=_limit(table.out_of_round, f"{key}.out_of_round"),
            taper=_limit(table.taper, f"{key}.taper"),
        ),
        stations=tuple(stations),
        angles_deg=tuple(angles),
        repeats=repeats,
        window=_positive(window, f"{key}.window"),
        group_stack=group_stack,
        group_key=group_key,
        is_after_strip=table.access == "after-strip",
    )


def _no_high(check: CheckPlan, journals: list[JournalPlan]) -> None:
    missing = [
        name for name in ("max_error", "max_spread", "max_drift") if getattr(check, name) is None
    ]
    for journal in journals:
        if journal.limits.high is None and missing:
            raise WrongKey(
                f"check.{missing[0]}",
                f"{journal.name} has no high limit to derive it from, so it must be written",
            )


def json_schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of the plan file; rules across keys are said in the README."""
    schema = msgspec.json.schema(PlanFile)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
