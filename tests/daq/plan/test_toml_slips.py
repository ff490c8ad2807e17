"""A line of a plan that is no TOML: the line is told, what is wrong with it, and what to write."""

import re
import tomllib

import pytest

from daq.errors import PlanError
from daq.plan.plan import parse_plan
from daq.plan.toml_slips import slip_words

HEAD = 'schema = 1\npart = "p"\n[[journal]]\nname = "M1"\nhigh = "59.99 mm"\n'
"""Five lines, so that what follows is line 6."""


@pytest.mark.parametrize(
    ("slip", "said"),
    [
        # units and numbers
        ("low = 54.00 mm", 'a value with a unit needs quotes: low = "54.00 mm"'),
        ("low = 54.00mm", 'a value with a unit needs quotes: low = "54.00 mm"'),
        ("low = 2.361 in  # a note", 'a value with a unit needs quotes: low = "2.361 in"'),
        ('low = 2.361"', 'a value with a unit needs quotes: low = "2.361 in"'),
        ("low = 54,00 mm", 'a value with a unit needs quotes: low = "54.00 mm"'),
        ("low = 54,00", 'a point, not a comma; a length needs its unit and quotes: low = "54.00'),
        ("low = .5", "a number needs a digit before and after the point"),
        ("low = 5.", "a number needs a digit before and after the point"),
        ("low = 054.00", "and no zero in front"),
        ("least_interval = 0.7 s", 'needs quotes: least_interval = "0.7 s"'),
        # quotes
        ('low = "54 mm', 'the closing quote is missing: low = "54 mm"'),
        ('low = "54 mm\nwindow = "1 mm"', 'the closing quote is missing: low = "54 mm"'),
        ("low = '54 mm", "the closing quote is missing: low = '54 mm'"),
        ("low = \u201c54 mm\u201d", 'these are not straight quotes: write low = "54 mm"'),
        ("group = main bearings", 'a text needs quotes: group = "main bearings"'),
        ('low = "1 mm" window = "2 mm"', "something stands after the closing quote"),
        # keys
        ('low: "54 mm"', 'write the key in one word and an equals sign: low = "54 mm"'),
        ('out of round = "1 um"', 'one word and an equals sign: out_of_round = "1 um"'),
        ('low "54 mm"', 'an equals sign is missing: low = "54 mm"'),
        ("low =", 'the value is missing: low = "..."'),
        ('high = "60 mm"\nlow = "1 mm"', "this key stands twice in its table"),
        # lists
        ("angles_deg = [0 45]", "angles_deg = [0, 45]"),
        ("angles_deg = [0, 45", "a bracket at its end: angles_deg = [0, 45]"),
        ('stations = ["a", "b"\nlow = "1 mm"', 'a bracket at its end: stations = ["a", "b"]'),
        # tables
        ("[[journal]", "a bracket is missing: write [[journal]]"),
        ('[journal]\nlow = "1 mm"', "write [[journal]] each time, with two brackets"),
        # words of other languages of this kind
        ("bearing_only = True", "write it small: bearing_only = true"),
        ("bearing_only = No", "write it small: bearing_only = false"),
        # what nobody could guess
        ("= 3", "this cannot be read"),
        ("{}", "this cannot be read"),
        ("low = \u0001", "this cannot be read"),
    ],
)
def test_a_slip_is_told_with_its_line_and_what_to_write(slip: str, said: str) -> None:
    with pytest.raises(PlanError) as caught:
        parse_plan(HEAD + slip, "pump.toml")
    assert caught.value.key == ""
    assert said in caught.value.reason
    first = slip.partition("\n")[0]
    start = f"line 6, {first.strip()}".replace("\u0001", "\\x01")
    assert caught.value.reason.startswith(f"{start}: ")
    assert f"pump.toml: {start}" in str(caught.value)


@pytest.mark.parametrize("table", ["[check]", "[defaults]"])
def test_a_table_that_stands_twice_is_told_where_the_second_stands(table: str) -> None:
    with pytest.raises(PlanError) as caught:
        parse_plan(f"{HEAD}{table}\n{table}\n", "pump.toml")
    assert caught.value.reason == (
        f"line 7, {table}: the table {table} stands twice: put their keys into one"
    )


def test_a_line_steers_no_terminal_and_is_cut_short() -> None:
    with pytest.raises(PlanError) as caught:
        parse_plan(f"{HEAD}low = \x1b[31m\u202e{'x' * 500}", "pump.toml")
    assert caught.value.reason.isprintable()
    assert len(caught.value.reason) < 300


@pytest.mark.parametrize(
    "text", ["x", "x =", "x = [", "[", "[[", '"', "\r", "\n\n\n[", "=\n", "x = {", "x = '''"]
)
def test_whatever_the_reader_refuses_is_told_in_a_line(text: str) -> None:
    with pytest.raises(ValueError, match=r"\w") as caught:
        tomllib.loads(text)
    assert re.match(r"line \d+, .*: .+", slip_words(text, str(caught.value)))


def test_what_names_no_line_is_told_without_one() -> None:
    assert slip_words("x", "Too deep") == "this is no plan: too deep"
