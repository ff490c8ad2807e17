"""A value of another shape than its key: what stands there, and what to write."""

import re
import tomllib

import msgspec
import pytest

from daq.errors import PlanError
from daq.plan.examples import EXAMPLES, written
from daq.plan.plan import parse_plan
from daq.plan.schema import PlanFile
from daq.plan.shape_words import path_of
from tests.daq.plan.refused_plans import REFUSED, Refusal
from tests.daq.plan.test_schema import KEYS

HEAD = 'schema = 1\npart = "p"\n'
JOURNAL = f'{HEAD}[[journal]]\nname = "M1"\n'


def reason(text: str) -> str:
    with pytest.raises(PlanError) as caught:
        parse_plan(text, "pump.toml")
    return str(caught.value).removeprefix("The plan cannot be used. pump.toml, ")


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        # numbers where a length belongs keep their digits
        ("low = 54.00", 'journal 1 (M1), low: 54.00 needs its unit and quotes: low = "54.00 mm"'),
        ("low = 54", '54 needs its unit and quotes: low = "54 mm"'),
        ("low = 1_000.50", 'low = "1000.50 mm"'),
        # under 10 with nothing else to go by it is inches; the cross-check is the other unit
        ("low = 2.3610", '2.3610 needs its unit and quotes: low = "2.3610 in"'),
        ('low = ["59.97 mm", 2.361]', 'low, entry 2: 2.361 needs its unit and quotes: "2.361 in"'),
        ('low = ["2.361 in", 59.97]', 'low, entry 2: 59.97 needs its unit and quotes: "59.97 mm"'),
        # the unit of the plan's other lengths
        ('high = "2.4 in"\nlow = 22.361', 'low = "22.361 in"'),
        ('high = "60 mm"\nlow = 2.361', 'low = "2.361 mm"'),
        # other shapes
        ('low = [["1 mm"]]', 'low, entry 1: one value, without brackets: low = "1 mm"'),
        ("low = { mm = 5 }", 'a table does not fit here. Write a text in quotes: low = "59.970'),
        ("low = 2026-01-01", "a date or a time does not fit here. Write a text in quotes"),
        ("low = true", "true does not fit here. Write a text in quotes"),
        ('group = ["mains"]', 'group: one value, without brackets: group = "mains"'),
        ('angles_deg = ["0"]', "without quotes, in brackets: angles_deg = [0, 45, 90, 135]"),
        ('form_limit = "over"', 'Write form_limit = "not-over" or form_limit = "under"'),
        ("repeats = 0xffffffffffffffffffffffff.5", "line 5"),
    ],
)
def test_a_wrong_shape_is_told_with_what_to_write(lines: str, said: str) -> None:
    assert said in reason(f"{JOURNAL}{lines}\n")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('name = ["M1", "M2"]', 'For several journals alike write names = ["M1", "M2"]'),
        ('names = "M1"', 'Write texts in quotes, in brackets: names = ["M1", "M2"]'),
        ('low = "1 mm"', 'journal 1, name: missing. Write name = "M1", or for several alike names'),
        ('name = "M1"', "low: missing. Write low = "),
        ('names = ["A", "B"]', "journal 1 (A, B), low: missing. Write low = "),
    ],
)
def test_a_journal_is_told_what_it_lacks(text: str, said: str) -> None:
    assert said in reason(f"{HEAD}[[journal]]\n{text}\n")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("check = 1", "[check]: this is a table: write a line [check] and its keys below it"),
        ('[journal]\nname = "M1"', "write a line [[journal]], with two brackets"),
        ('[[journal]]\nname = "M"\n[[check]]\nreadings = 1', "write a line [check]"),
        ("", "journal: missing. A plan needs at least one [[journal]]"),
    ],
)
def test_a_table_of_another_shape_is_told_with_its_brackets(text: str, said: str) -> None:
    assert said in reason(f"{HEAD}{text}\n")


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        # nearest by letters
        ("lo = 1", "journal 1 (M1), lo: unknown key. Did you mean low?"),
        ("angle_deg = [0]", "Did you mean angles_deg?"),
        # other words of the trade
        ("min = 1", "Did you mean low?"),
        ("Maximum = 1", "Did you mean high?"),
        ("ovality = 1", "Did you mean out_of_round?"),
        # in another table
        ('typed = "twice"', "typed: unknown key here. It stands in [defaults]"),
        ('stack = "1 mm"', "It stands in [[group]]"),
        ("operators = []", "It stands in [study]"),
        ('bearing_onli = "1 mm"', "Did you mean bearing_only, in [[group.undersize]]?"),
        # none
        ("colour = 1", "unknown key. Known here: name, names, group, low, high, "),
    ],
)
def test_an_unknown_key_is_told_with_the_nearest_known_one(lines: str, said: str) -> None:
    assert said in reason(f"{JOURNAL}{lines}\n")


def test_a_table_that_is_not_known_is_told_with_the_nearest() -> None:
    assert reason(f"{HEAD}[[journals]]\nx = 1\n") == (
        "journals: unknown key. Did you mean journal?"
    )


def test_a_key_steers_no_terminal() -> None:
    said = reason(f'{JOURNAL}"\\u202e\\u001b[31m" = 1\n')
    assert said.isprintable()
    assert "\\u202e\\x1b[31m: unknown key" in said


EVERY = [
    f"{table}.{key}".lstrip(".")
    for table, keys in KEYS.items()
    for key in sorted(keys)
    if f"{table}.{key}".lstrip(".") not in KEYS
]


@pytest.mark.parametrize("path", EVERY)
def test_every_key_has_an_example_that_fits_it(path: str) -> None:
    table, _, key = path.rpartition(".")
    value = tomllib.loads(written(path))[key]
    # put under its tables, lists of tables being lists of one; what is required stands beside it
    beside: dict[str, dict[str, object]] = {
        "": {"schema": 1, "part": "p", "journal": []},
        "study": {"operators": ["A", "B"]},
        "group": {"name": "g"},
        "group.undersize": {"name": "u", "by": "1 mm", "low": "1 mm"},
    }
    node: dict[str, object] = beside.get(table, {}) | {key: value}
    for depth, step in reversed(list(enumerate(table.split(".") if table else ()))):
        outer = ".".join(table.split(".")[:depth])
        inner: object = [node] if step in ("group", "journal", "undersize") else node
        node = beside.get(outer, {}) | {step: inner}
    assert msgspec.convert(node, PlanFile)


def test_there_are_no_examples_of_other_keys() -> None:
    assert {path.rpartition(".")[2] for path in EXAMPLES} == {
        path.rpartition(".")[2] for path in EVERY
    }


@pytest.mark.parametrize("spoiled", REFUSED, ids=[f"{one.key}-{one.reason}" for one in REFUSED])
def test_what_a_refusal_tells_to_write_is_a_line_of_a_plan(spoiled: Refusal) -> None:
    with pytest.raises(PlanError) as caught:
        parse_plan(spoiled.text, "pump.toml")
    pattern = r"\b([a-z_]+) = (\"[^\"]*\"|\[[^\]]*\]|[\w.]+)"
    for key, value in re.findall(pattern, caught.value.reason):
        assert list(tomllib.loads(f"{key} = {value}")) == [key]
        assert key in {path.rpartition(".")[2] for path in EVERY}


def test_a_key_without_its_numbers_is_its_path() -> None:
    assert path_of("group[2].undersize[11].by") == "group.undersize.by"
