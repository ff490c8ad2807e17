"""Where something stands in a plan, in words: tables by their names, safe to print, and once."""

import pytest

from daq.plan.key_words import names_in, place_words, several, told

PLAN = """\
[[group]]
name = "rods"
[[group.undersize]]
name = "0.25"
[[journal]]
name = "M1"
[[journal]]
names = ["R1", "R2"]
[[journal]]
low = 1
"""
NAMES = names_in(PLAN)


@pytest.mark.parametrize(
    ("key", "place"),
    [
        ("", ""),
        ("part", "part"),
        ("journal", "journal"),
        ("check.stack", "[check], stack"),
        ("defaults.window", "[defaults], window"),
        ("journal[1].low", "journal 1 (M1), low"),
        ("journal[1].low[2]", "journal 1 (M1), low, entry 2"),
        ("journal[2].high", "journal 2 (R1, R2), high"),
        ("journal[3].low", "journal 3, low"),  # it has no name
        ("journal[9].low", "journal 9, low"),
        ("group[1].stack", "group 1 (rods), stack"),
        ("group[1].undersize[1].by", "group 1 (rods), undersize 1 (0.25), by"),
        ("check", "[check]"),
        ("journal[1].check", "journal 1 (M1), check"),
    ],
)
def test_a_key_is_told_in_words(key: str, place: str) -> None:
    assert place_words(key, "", NAMES) == place


def test_a_reason_that_begins_with_the_key_or_the_name_says_it_once() -> None:
    assert told("journal[1].low", "low = 1 mm is odd", NAMES) == "journal 1 (M1): low = 1 mm is odd"
    assert told("journal[1].low", "lower than that", NAMES) == (
        "journal 1 (M1), low: lower than that"
    )
    assert told("journal[1].low", "M1: low = 1", NAMES) == "journal 1 (M1): low = 1"
    several_said = "M1, R1: low is odd"
    assert told("journal[1].low", several_said, NAMES) == several_said
    assert told("part", "part of it", NAMES) == "part: part of it"
    assert told("", "no plan", NAMES) == "no plan"


def test_names_are_found_whatever_else_is_wrong_and_nowhere_in_what_is_no_plan() -> None:
    assert names_in('journal = 1\ngroup = ["x", 2]\n[check]\nname = "c"') == {}
    assert names_in('[[journal]]\nname = 3\n[[journal]]\nnames = [1, "A"]') == {"journal[2]": "A"}
    assert names_in("= 1") == {}
    assert names_in("x = " + "[" * 10_000) == {}


def test_a_name_steers_no_terminal_and_is_cut_short() -> None:
    place = place_words("journal[1].low", "", {"journal[1]": f"\x1b[31m\u202e{'x' * 99}"})
    assert place.isprintable()
    assert len(place) < 60


def test_many_names_are_counted() -> None:
    names = [f"M{n}" for n in range(1, 251)]
    assert several(names[:3]) == "M1, M2, M3"
    assert several(names[:12]).endswith("M11, M12")
    assert several(names).endswith(", M12 and 238 more")
