"""What a plan is refused for: one table, and texts that nobody would write by hand."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.errors import PlanError
from daq.plan.plan import Plan, load_plan, parse_plan

PLAN = """\
schema = 1
part = "pump"

[check]
stack = "59.97 mm"
readings = 5
max_age_min = 240
near = "1 mm"

[[group]]
name = "rods"
stack = "50.80 mm"

[defaults]
stations = ["front", "rear"]
angles_deg = [0, 45, 90, 135]
repeats = 1
window = "0.5 mm"

[[journal]]
name = "M1"
low = "59.97 mm"
high = "59.99 mm"
"""


def test_the_plan_that_the_table_spoils_is_good_in_itself() -> None:
    assert [journal.name for journal in parse_plan(PLAN, "x").journals] == ["M1"]


REQUIRED = "this key is required"
LENGTH = "is not a length with its unit"
NAME = "1 to 80 characters without / or control characters"
SECOND = '[[journal]]\nname = "M2"\nlow = "1 mm"\nhigh = "2 mm"\n'
MANY = ", ".join(f'"s{n}"' for n in range(73))

# (text to replace, its replacement, the key named, a piece of the reason). An empty first text adds
# the second one at the end, that is, inside the journal.
REFUSED = [
    # the file as a whole
    ("schema = 1", "", "schema", "reads schema 1"),
    ("schema = 1", "schema = 2", "schema", "reads schema 1"),
    ("schema = 1", "schema = true", "schema", "reads schema 1"),
    ("schema = 1", 'schema = "1"', "schema", "reads schema 1"),
    ("schema = 1", "schema = 1.0", "schema", "Expected int"),
    ("schema = 1", "schema = nan", "schema", "reads schema 1"),
    ("schema = 1", "schema = [1]", "schema", "reads schema 1"),
    ('part = "pump"', "", "part", REQUIRED),
    ('part = "pump"', "part = 7", "part", "Expected str"),
    ('part = "pump"', "part = 2026-01-01", "part", "Expected str"),
    ('part = "pump"', f'part = "{"p" * 201}"', "part", "at most 200 characters"),
    # unknown keys at every level
    ("schema = 1", "schema = 1\ncolour = 1", "colour", "unknown key"),
    ("readings = 5", "reading = 5", "check.reading", "unknown key"),
    ('name = "rods"', 'name = "rods"\nsize = 1', "group[1].size", "unknown key"),
    ("repeats = 1", "repeat = 1", "defaults.repeat", "unknown key"),
    ("", "lo = 1", "journal[1].lo", "unknown key"),
    ("", SECOND + "hi = 1", "journal[2].hi", "unknown key"),
    # wrong kinds of values
    ("readings = 5", 'readings = "5"', "check.readings", "Expected int"),
    ("readings = 5", "readings = 5.0", "check.readings", "Expected int"),
    ("readings = 5", "readings = true", "check.readings", "Expected int"),
    ('near = "1 mm"', "near = 1", "check.near", "Expected str"),
    ('near = "1 mm"', 'near = ["1 mm", "0.04 in"]', "check.near", "Expected str"),
    ("max_age_min = 240", 'max_age_min = "240"', "check.max_age_min", "Expected float"),
    ('low = "59.97 mm"', "low = 59.97", "journal[1].low", "Expected"),
    ('name = "M1"', "name = 1", "journal[1].name", "Expected str"),
    ("[0, 45, 90, 135]", "0", "defaults.angles_deg", "Expected array"),
    ("[0, 45, 90, 135]", "[0, 45.0]", "defaults.angles_deg[2]", "Expected int"),
    ("[0, 45, 90, 135]", "[0.5]", "defaults.angles_deg[1]", "Expected int"),
    ("[0, 45, 90, 135]", '["0"]', "defaults.angles_deg[1]", "Expected int"),
    ("[0, 45, 90, 135]", "[false]", "defaults.angles_deg[1]", "Expected int"),
    ('["front", "rear"]', '"front"', "defaults.stations", "Expected array"),
    ('["front", "rear"]', "[1]", "defaults.stations[1]", "Expected str"),
    ("", 'access = "stripped"', "journal[1].access", "Invalid enum value"),
    ("", "group = 1", "journal[1].group", "Expected"),
    # missing
    ('name = "M1"', "", "journal[1].name", REQUIRED),
    ('low = "59.97 mm"', "", "journal[1].low", REQUIRED),
    ('name = "rods"', "", "group[1].name", REQUIRED),
    # lengths
    ('low = "59.97 mm"', 'low = "59.97"', "journal[1].low", LENGTH),
    ('low = "59.97 mm"', 'low = "59,97 mm"', "journal[1].low", LENGTH),
    ('low = "59.97 mm"', 'low = "nan mm"', "journal[1].low", LENGTH),
    ('low = "59.97 mm"', 'low = "0 mm"', "journal[1].low", "is not above zero"),
    ('low = "59.97 mm"', 'low = "-59.97 mm"', "journal[1].low", "is not above zero"),
    ('high = "59.99 mm"', 'high = "0.000 in"', "journal[1].high", "is not above zero"),
    ("", 'out_of_round = "0 mm"', "journal[1].out_of_round", "is not above zero"),
    ("", 'taper = "-1 um"', "journal[1].taper", "is not above zero"),
    ("", 'window = "0 mm"', "journal[1].window", "is not above zero"),
    ("", 'window = ""', "journal[1].window", LENGTH),
    ('window = "0.5 mm"', 'window = "half"', "defaults.window", LENGTH),
    ('window = "0.5 mm"', 'window = "0 mm"', "defaults.window", "is not above zero"),
    ('near = "1 mm"', 'near = "0 mm"', "check.near", "is not above zero"),
    ("readings = 5", 'max_error = "0 mm"', "check.max_error", "is not above zero"),
    ("readings = 5", 'max_spread = "2"', "check.max_spread", LENGTH),
    ("readings = 5", 'max_drift = "-1 um"', "check.max_drift", "is not above zero"),
    # limits
    ('high = "59.99 mm"', 'high = "59.96 mm"', "journal[1].low", "upside down"),
    ('high = "59.99 mm"', 'high = "59.970 mm"', "journal[1].low", "upside down"),
    ('high = "59.99 mm"', 'high = "2.3610 in"', "journal[1].low", "upside down"),  # 59.9694 mm
    ('"59.97 mm"\nhigh', "[]\nhigh", "journal[1].low", "a list holds the limit and one"),
    ('"59.97 mm"\nhigh', '["59.97 mm"]\nhigh', "journal[1].low", "a list holds the limit and one"),
    (
        '"59.97 mm"\nhigh',
        '["59.97 mm", "2.3610 in", "2.3610 in"]\nhigh',
        "journal[1].low",
        "a list holds the limit and one",
    ),
    (
        '"59.97 mm"\nhigh',
        '["59.97 mm", "59970 um"]\nhigh',
        "journal[1].low",
        "not in the other unit",
    ),
    (
        '"59.97 mm"\nhigh',
        '["2.3610 in", "2.361 in"]\nhigh',
        "journal[1].low",
        "not in the other unit",
    ),
    ('"59.97 mm"\nhigh', '["59.97 mm", "2.361"]\nhigh', "journal[1].low", LENGTH),
    ('"59.97 mm"\nhigh', '["59.97 mm", 2.361]\nhigh', "journal[1].low[2]", "Expected str"),
    # a plan without a high limit has nothing to derive the limits of the check from
    ('high = "59.99 mm"', "", "check.max_error", "M1 has no high limit"),
    (
        'readings = 5\nmax_age_min = 240\nnear = "1 mm"',
        'max_error = "1 um"\nmax_drift = "1 um"\n',
        "check.max_spread",
        "M2 has no high limit",
    ),
    # angles
    ("[0, 45, 90, 135]", "[0, 180]", "defaults.angles_deg", "180 is not between 0 and 179"),
    ("[0, 45, 90, 135]", "[-1]", "defaults.angles_deg", "-1 is not between 0 and 179"),
    ("[0, 45, 90, 135]", "[0, 90, 0]", "defaults.angles_deg", "the same place twice"),
    ("[0, 45, 90, 135]", "[]", "defaults.angles_deg", "an empty list"),
    ("", "angles_deg = [0, 180]", "journal[1].angles_deg", "180 is not between"),
    ("", "angles_deg = [45, 45]", "journal[1].angles_deg", "the same place twice"),
    ("", "angles_deg = []", "journal[1].angles_deg", "an empty list"),
    ("", f"angles_deg = [{'9' * 400}]", "journal[1].angles_deg", "is not between 0 and 179"),
    # names
    ('name = "M1"', 'name = ""', "journal[1].name", NAME),
    ('name = "M1"', 'name = "M/1"', "journal[1].name", NAME),
    ('name = "M1"', 'name = "M\\u00001"', "journal[1].name", NAME),
    ('name = "M1"', 'name = "M\\n1"', "journal[1].name", NAME),
    ('name = "M1"', 'name = "M\\u001b[31m"', "journal[1].name", NAME),
    ('name = "M1"', 'name = "M\\u0085"', "journal[1].name", NAME),
    ('name = "M1"', 'name = "M\\u202e1"', "journal[1].name", NAME),  # turns the text round
    ('name = "M1"', f'name = "{"M" * 81}"', "journal[1].name", NAME),
    ('name = "rods"', 'name = "a/b"', "group[1].name", NAME),
    ("", 'group = ""', "journal[1].group", NAME),
    ("", 'group = "../rods"', "journal[1].group", NAME),
    ('["front", "rear"]', '["front", ""]', "defaults.stations", NAME),
    ('["front", "rear"]', '["fr/ont"]', "defaults.stations", NAME),
    ('["front", "rear"]', "[]", "defaults.stations", "an empty list"),
    ('["front", "rear"]', '["front", "front"]', "defaults.stations", "the same place twice"),
    ("", "stations = []", "journal[1].stations", "an empty list"),
    ("", SECOND.replace("M2", "M1"), "journal[2].name", "a second journal called 'M1'"),
    ("", '[[group]]\nname = "rods"\n', "group[2].name", "a second group called 'rods'"),
    # counts
    ("readings = 5", "readings = 0", "check.readings", "0 is not between 1 and 100"),
    ("readings = 5", "readings = 101", "check.readings", "101 is not between 1 and 100"),
    ("readings = 5", f"readings = -{'9' * 400}", "check.readings", "is not between 1 and 100"),
    ("repeats = 1", "repeats = 0", "defaults.repeats", "0 is not between 1 and 100"),
    ("", "repeats = 101", "journal[1].repeats", "101 is not between 1 and 100"),
    ("max_age_min = 240", "max_age_min = 0", "check.max_age_min", "is not between"),
    ("max_age_min = 240", "max_age_min = -1", "check.max_age_min", "is not between"),
    ("max_age_min = 240", "max_age_min = nan", "check.max_age_min", "nan is not between"),
    ("max_age_min = 240", "max_age_min = inf", "check.max_age_min", "inf is not between"),
    (
        # 73 x 137 = 10 001
        "",
        f"stations = [{MANY}]\nangles_deg = {list(range(137))}",
        "journal",
        "10001 positions; at most 10000",
    ),
]


@pytest.mark.parametrize(("old", "new", "key", "reason"), REFUSED)
def test_a_plan_is_refused_naming_the_file_the_key_and_the_reason(
    old: str, new: str, key: str, reason: str
) -> None:
    assert not old or PLAN.count(old) == 1
    text = PLAN.replace(old, new) if old else f"{PLAN}\n{new}\n"
    if "M2" in reason:
        text = text.replace('name = "M1"', 'name = "M2"').replace('high = "59.99 mm"', "")
    with pytest.raises(PlanError) as caught:
        parse_plan(text, "shop/pump.toml")
    assert caught.value.key == key
    assert reason in caught.value.reason
    assert caught.value.file == "shop/pump.toml"
    assert f"shop/pump.toml, key {key}: " in str(caught.value)


@pytest.mark.parametrize("journals", ["journal = []", "[journal]\nname = 'M1'", "journal = 1", ""])
def test_a_plan_without_a_list_of_journals_is_refused(journals: str) -> None:
    with pytest.raises(PlanError) as caught:
        parse_plan(f'schema = 1\npart = "p"\n{journals}', "x")
    assert caught.value.key == "journal"


@pytest.mark.parametrize(
    "text",
    [
        "schema = 1\npart = ",
        "schema: 1",
        '{"schema": 1}',
        "schema = 1\nschema = 1",
        "\x00",
        "schema = 01",
        "schema = 1\r",
        'part = "\\ud800"',
        "x = " + "[" * 10_000,
        "x = " + "{a = " * 10_000,
        "x = " + "9" * 10_000,
        "x = 1979-99-99",
    ],
)
def test_what_is_not_toml_is_refused_naming_the_file(text: str) -> None:
    with pytest.raises(PlanError, match="not a TOML file") as caught:
        parse_plan(text, "pump.toml")
    assert (caught.value.file, caught.value.key) == ("pump.toml", "")


def test_a_file_over_256_kib_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "long.toml"
    path.write_bytes((PLAN + "#").encode().ljust(256 * 1024 + 1, b"x"))
    with pytest.raises(PlanError, match="longer than 256 KiB") as caught:
        load_plan(path)
    assert caught.value.file == str(path)


def test_a_file_that_is_not_utf_8_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "latin.toml"
    path.write_bytes(PLAN.replace("pump", "Pumpe f\u00fcr").encode("latin-1"))
    with pytest.raises(PlanError, match="not UTF-8 text") as caught:
        load_plan(path)
    assert caught.value.file == str(path)


def test_a_file_that_cannot_be_read_is_a_plan_error(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(PlanError, match="cannot be read") as caught:
            load_plan(path)
        assert caught.value.file == str(path)


def outcome(text: str) -> Plan | PlanError:
    """A plan or a PlanError that names its file; anything else is raised."""
    try:
        plan = parse_plan(text, "hostile.toml")
    except PlanError as error:
        refused = error
    else:
        assert_within_bounds(plan)
        return plan
    assert refused.file == "hostile.toml"
    assert refused.reason
    return refused


def assert_within_bounds(plan: Plan) -> None:
    assert 1 <= sum(len(j.stations) * len(j.angles_deg) * j.repeats for j in plan.journals) <= 10**4


PIECES = st.one_of(
    st.text(max_size=8),
    st.sampled_from(
        [
            *(
                '"',
                "'",
                '"""',
                "[",
                "]",
                "[[",
                "]]",
                "{",
                "}",
                "=",
                "\n",
                "\r\n",
                "\\",
                "\x00",
                "#",
            ),
            *("-", "+", ".", "nan", "inf", "-0.0", "1e999", "true", "0xffffffffffffffffff"),
            *("1979-05-27", "07:32:00", "9" * 400, "9" * 5000, "[" * 3000, "a." * 500),
            *(' - at `$.part`"', "$.journal[0]", "`", '"\\ud800"', '"\\U0010ffff"', "\u0661"),
        ]
    ),
)


@given(
    st.lists(
        st.tuples(st.integers(0, len(PLAN)), st.integers(0, 30), PIECES), min_size=1, max_size=4
    )
)
def test_a_spoiled_plan_is_a_plan_or_a_plan_error(cuts: list[tuple[int, int, str]]) -> None:
    text = PLAN
    for start, length, piece in cuts:
        text = text[:start] + piece + text[start + length :]
    outcome(text)


VALUES = st.recursive(
    st.sampled_from(
        [
            *("1", "-1", "0", "1.0", "nan", "inf", "true", '""', '"1 mm"', '"2 in"', '"x"'),
            *("1979-05-27", "07:32:00", "1979-05-27T07:32:00Z", "9" * 400, "0x" + "f" * 5000),
        ]
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda items: f"[{', '.join(items)}]"),
        inner.map(lambda item: f"{{ name = {item} }}"),
    ),
    max_leaves=6,
)
LINES = [line for line in PLAN.splitlines() if "=" in line]


@given(st.sampled_from(LINES), VALUES)
def test_any_value_at_any_key_is_a_plan_or_a_plan_error(line: str, value: str) -> None:
    key = line.partition(" =")[0]
    outcome(PLAN.replace(line, f"{key} = {value}", 1))


def test_a_plan_with_nothing_wrong_is_not_called_spoiled() -> None:
    assert isinstance(outcome(PLAN), Plan)
    assert isinstance(outcome(PLAN + "x"), PlanError)
