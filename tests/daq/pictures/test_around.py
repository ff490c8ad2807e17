"""One journal's diameters around the circle: marks, limits, the smallest, the scale in words."""

from decimal import Decimal

import pytest
from msgspec.structs import replace

from daq.board.board import PlaceAsked, PlaceShown
from daq.lengths import Length
from daq.pictures.around import around
from tests.daq.pictures.drawing_words import about, of_class, outside, overlapping, words
from tests.daq.pictures.drawn_sessions import between, finished, journal, row

M2, ROW2 = journal(finished(), "M2"), row(finished(), "M2")


def test_the_smallest_is_named_with_its_place_and_its_side_of_the_limit() -> None:
    # WORN: 59.958 at the front at 0 degrees, the low limit is 59.970 mm
    said = words(around(M2, ROW2))
    assert {"smallest 59.9580 mm", "front 0°, under the low limit"} <= set(said)
    assert {"low 59.970 mm", "high 59.990 mm"} <= set(said)
    within = words(around(journal(finished(), "M1"), row(finished(), "M1")))
    assert {"smallest 59.9800 mm", "front 90°"} <= set(within)


def test_the_scale_is_written_in_words() -> None:
    # 59.958 to 59.990 mm: steps of 0.01 mm, from 59.95 to 59.99
    said = words(around(M2, ROW2))
    assert "One ring to the next: 0.01 mm." in said
    # 104 for 0.04 mm; 98 / 59.97 a mm of diameter: 2600 / 1.6342 = 1591
    assert "Deviations are drawn about 1,600 times larger." in said


def test_limits_are_circles_where_the_scale_has_them() -> None:
    # 59.95 at 46, 59.99 at 150: 59.97 at 46 + 0.02 / 0.04 * 104 = 98
    made = around(M2, ROW2)
    assert [one.get("r") for one in of_class(made, "pic-low")] == ["98"]
    assert [one.get("r") for one in of_class(made, "pic-high")] == ["150"]


def test_a_journal_in_inches_is_shown_in_inches() -> None:
    inch = replace(M2, low=Length(Decimal("2.3610"), "in"), high=None, unit="in")
    said = words(around(inch, ROW2))
    assert "low 2.3610 in" in said
    assert not [word for word in said if word.startswith("high")]
    # 59.958 / 25.4 = 2.360551
    assert {"smallest 2.36055 in", "front 0°, under the low limit"} <= set(said)


def test_what_must_be_measured_again_is_not_drawn() -> None:
    # of M3 one place has been measured again, two readings stand that no check can prove
    made = around(journal(between(), "M3"), row(between(), "M3"))
    assert about(made).endswith("smallest 59.9810. front 0° 59.9810")
    assert "Not drawn: 2 that must be taken again." in words(made)
    assert not [word for word in words(around(M2, ROW2)) if "again" in word]


def test_values_are_written_where_they_are_asked_for() -> None:
    assert "0° 59.9580, 45° 59.9610, 90° 59.9590, 135° 59.9620" in words(
        around(M2, ROW2, with_values=True)
    )
    assert not [word for word in words(around(M2, ROW2)) if "59.9610" in word]


def test_the_asked_place_is_marked_and_that_of_another_journal_is_not() -> None:
    here = PlaceAsked("M2", "rear", 90, 1, 1, 1)
    assert "rear: measure here" in words(around(M2, ROW2, here))
    assert not [
        word for word in words(around(M2, ROW2, replace(here, journal="M1"))) if "here" in word
    ]


def test_nothing_measured_is_said() -> None:
    assert "Nothing that stands is measured yet." in words(around(M2))


@pytest.mark.parametrize("count", [1, 2, 8, 9, 300])
def test_many_stations_are_bounded_and_the_smallest_is_among_them(count: int) -> None:
    names = tuple(f"at {number}" for number in range(count))
    places = tuple(
        PlaceShown(name, 0, 1, "proven", "1", "mm", f"59.98{count - at:03}")
        for at, name in enumerate(names)
    )
    made = around(replace(M2, stations=names), replace(ROW2, places=places))
    assert f"at {count - 1}" in words(made)
    assert overlapping(made) == []
    assert outside(made) == []
    left = [word for word in words(made) if word.endswith("more stations, not drawn")]
    assert left == ([] if count <= 8 else [f"and {count - 8} more stations, not drawn"])
    assert len(made) < 20_000
