"""What a plan is refused for: one table, and texts that nobody would write by hand."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.errors import PlanError
from daq.plan.plan import Plan, load_plan, parse_plan
from tests.daq.plan.refused_plans import GROUND, PUMP, REFUSED, Refusal


def test_the_plans_that_the_table_spoils_are_good_in_themselves() -> None:
    assert [journal.name for journal in parse_plan(PUMP, "x").journals] == ["M1"]
    (mains,) = parse_plan(GROUND, "x").groups
    assert [step.name for step in mains.undersizes] == ["thin", "first", "second"]


@pytest.mark.parametrize("spoiled", REFUSED, ids=[f"{one.key}-{one.reason}" for one in REFUSED])
def test_a_plan_is_refused_naming_the_file_the_key_and_the_reason(spoiled: Refusal) -> None:
    with pytest.raises(PlanError) as caught:
        parse_plan(spoiled.text, "shop/pump.toml")
    assert caught.value.key == spoiled.key
    assert spoiled.reason in caught.value.reason
    assert caught.value.file == "shop/pump.toml"
    assert f"shop/pump.toml, {caught.value.place}: {caught.value.reason}" in str(caught.value)
    # where it stands is told in words: no key as programs write it, no word of the reader of tables
    for word in ("key ", "journal[", "group[", "undersize[", "Expected", "`", "Invalid"):
        assert word not in str(caught.value).replace("unknown key ", "")


@pytest.mark.parametrize("journals", ["journal = []", "[journal]\nname = 'M1'", "journal = 1", ""])
def test_a_plan_without_a_list_of_journals_is_refused(journals: str) -> None:
    with pytest.raises(PlanError) as caught:
        parse_plan(f'schema = 1\npart = "p"\n{journals}', "x")
    assert caught.value.key == "journal"


@pytest.mark.parametrize(
    ("study", "more", "key"),
    [
        ("[study]\noperators = ['A', 'B']", "[defaults]\nrepeats = 2", "defaults.repeats"),
        ("[study]\noperators = ['A', 'B']\ntrials = 11", "", "study.trials"),
    ],
)
def test_a_study_counts_its_own_repeats(study: str, more: str, key: str) -> None:
    journals = "".join(
        f'[[journal]]\nname = "M{n}"\nlow = "1 mm"\nhigh = "2 mm"\n' for n in range(2)
    )
    with pytest.raises(PlanError) as caught:
        parse_plan(f'schema = 1\npart = "p"\n{study}\n{more}\n{journals}', "x")
    assert caught.value.key == key
    with pytest.raises(PlanError) as caught:
        parse_plan(
            f"schema = 1\npart = 'p'\n[study]\noperators = ['A', 'B']\n{journals}repeats = 2", "x"
        )
    assert caught.value.key == "journal[2].repeats"


def test_a_study_of_one_journal_is_refused() -> None:
    with pytest.raises(PlanError, match="at least two journals") as caught:
        parse_plan(
            'schema = 1\npart = "p"\n[study]\noperators = ["A", "B"]\n[[journal]]\nname = "M"\n'
            'low = "1 mm"\nhigh = "2 mm"',
            "x",
        )
    assert caught.value.key == "study"


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
    with pytest.raises(PlanError, match=r"line \d+, .+: .+|this is no plan: ") as caught:
        parse_plan(text, "pump.toml")
    assert (caught.value.file, caught.value.key) == ("pump.toml", "")


def test_a_file_over_256_kib_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "long.toml"
    path.write_bytes((PUMP + "#").encode().ljust(256 * 1024 + 1, b"x"))
    with pytest.raises(PlanError, match="longer than 256 KiB") as caught:
        load_plan(path)
    assert caught.value.file == str(path)


def test_a_file_that_is_not_utf_8_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "latin.toml"
    path.write_bytes(PUMP.replace("pump", "Pumpe f\u00fcr").encode("latin-1"))
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
        st.tuples(st.integers(0, len(PUMP)), st.integers(0, 30), PIECES), min_size=1, max_size=4
    )
)
def test_a_spoiled_plan_is_a_plan_or_a_plan_error(cuts: list[tuple[int, int, str]]) -> None:
    text = PUMP
    for start, length, piece in cuts:
        text = text[:start] + piece + text[start + length :]
    outcome(text)


VALUES = st.recursive(
    st.sampled_from(
        [
            *("1", "-1", "0", "1.0", "nan", "inf", "true", '""', '"1 mm"', '"2 in"', '"x"'),
            *('"1 K"', '"1e-6 /K"', '"first"', '"under"', "9" * 400, "0x" + "f" * 5000),
            *("1979-05-27", "07:32:00", "1979-05-27T07:32:00Z"),
        ]
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda items: f"[{', '.join(items)}]"),
        inner.map(lambda item: f"{{ name = {item} }}"),
    ),
    max_leaves=6,
)


def lines_of(plan: str) -> list[str]:
    return [line for line in plan.splitlines() if "=" in line]


@pytest.mark.parametrize("plan", [PUMP, GROUND], ids=["pump", "ground"])
@given(st.data(), VALUES)
def test_any_value_at_any_key_is_a_plan_or_a_plan_error(
    plan: str, data: st.DataObject, value: str
) -> None:
    line = data.draw(st.sampled_from(lines_of(plan)))
    outcome(plan.replace(line, f"{line.partition(' =')[0]} = {value}", 1))


def test_a_plan_with_nothing_wrong_is_not_called_spoiled() -> None:
    assert isinstance(outcome(PUMP), Plan)
    assert isinstance(outcome(PUMP + "x"), PlanError)
