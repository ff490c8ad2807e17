"""Names and places as people type them."""

import pytest

from daq.plan.drafting.typed import Misread
from daq.plan.drafting.typed_names import angles_in, names_in, stations_in, strip_in


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("3", ("M1", "M2", "M3")),
        ("3 mains", ("M1", "M2", "M3")),
        ("three", ("M1", "M2", "M3")),
        ("0", ()),
        ("none", ()),
        ("F M R", ("F", "M", "R")),
        ("No 1, No 2", ("No 1", "No 2")),
        ("M1-M3 X", ("M1", "M2", "M3", "X")),
        ("1 2 3", ("1", "2", "3")),
        ("[b]x[/b]", None),
        ("שלום M2", ("שלום", "M2")),
    ],
)
def test_a_number_or_names(text: str, names: tuple[str, ...] | None) -> None:
    if names is None:  # a slash parts places in the tables, so it may not stand in a name
        with pytest.raises(Misread, match="no name"):
            names_in(text, "M")
        return
    assert names_in(text, "M") == names


def test_250_journals_are_taken_and_251_are_not() -> None:
    assert len(names_in("250", "M")) == 250
    with pytest.raises(Misread, match="251 journals: at most 250"):
        names_in("251", "M")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("M1 M1", "M1 stands there twice"),
        ("5.5", "no number of journals"),
        ("-3", "no number of journals"),
        ("a\u202eb c", "no name"),
        (f"{'x' * 81} y", "no name"),
    ],
)
def test_what_is_no_name_is_said(text: str, words: str) -> None:
    with pytest.raises(Misread, match=words):
        names_in(text, "M")


def test_stations_by_name_or_by_number() -> None:
    assert stations_in("2") == ("front", "rear")
    assert stations_in("drive end, free end") == ("drive end", "free end")
    with pytest.raises(Misread, match="Type the names"):
        stations_in("7")


@pytest.mark.parametrize(
    ("text", "angles"),
    [
        ("0 45 90 135", (0, 45, 90, 135)),
        ("0°, 90°", (0, 90)),
        ("4", (0, 45, 90, 135)),
        ("6", (0, 30, 60, 90, 120, 150)),
        ("0", (0,)),
    ],
)
def test_angles_by_degrees_or_by_number(text: str, angles: tuple[int, ...]) -> None:
    assert angles_in(text) == angles


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0 180", "180° is the same diameter as 0°"),
        ("0 45.5", "whole degrees"),
        ("0 0", "twice"),
        (",", "Type the angles"),
    ],
)
def test_what_is_no_angle_is_said(text: str, words: str) -> None:
    with pytest.raises(Misread, match=words):
        angles_in(text)


def test_journals_to_strip_by_name_or_group_in_the_order_of_the_plan() -> None:
    groups = [("mains", ["M1", "M2"]), ("rods", ["R1"])]
    assert strip_in("r1 m2", groups) == ("M2", "R1")
    assert strip_in("mains", groups) == ("M1", "M2")
    assert strip_in("none", groups) == ()
    with pytest.raises(Misread, match="no journal or group M9"):
        strip_in("M9", groups)
