"""Readings gathered by place: means, estimates, and the conditions a place belongs to."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from fractions import Fraction

import pytest

from daq.evaluation.conditions import Conditions
from daq.evaluation.places import (
    Place,
    above_first,
    are_alike,
    largest,
    places,
    smallest,
)
from daq.lengths import Position
from daq.plan.plan import JournalPlan
from daq.record.events import Sent
from daq.record.standing import JournalReadings, PartReading
from tests.estimate_builders import checks, conditions, places_in
from tests.judged_builders import journal_plan, limits

FIRST = conditions(around=checks("0", "1"))
"""Takes 0.5 um off."""
SECOND = conditions(around=checks("1", "2"))
"""Takes 1.5 um off."""


def read(seq: int, mm: str, station: str = "front", angle: int = 0, repeat: int = 1) -> PartReading:
    """One reading; `seq` is its line."""
    return PartReading(
        seq=seq,
        at_us=seq,
        run=0,
        stint=1,
        position=Position("M1", station, angle, repeat),
        sent=Sent(mm, "mm", "0.001", None, (), ""),
        mm=Decimal(mm),
        at_20c_mm=Decimal(mm),
    )


def repeated(*mm: str) -> list[PartReading]:
    """Repeats at one place."""
    return [read(number, text, repeat=number) for number, text in enumerate(mm, 1)]


def plan(repeats: int) -> JournalPlan:
    return journal_plan(limits(), ("front", "rear"), (0, 90), repeats)


def by_line(about: Mapping[int, Conditions]) -> Callable[[PartReading], Conditions]:
    return lambda taken: about[taken.seq]


def found(
    taken: list[PartReading],
    about: Callable[[PartReading], Conditions] = lambda taken: FIRST,
    operators: int = 1,
) -> tuple[Place, ...]:
    most = max(each.position.repeat for each in taken)
    return places(JournalReadings.of(plan(most), taken, operators).by_place, about)


def test_single_readings_are_places_in_the_order_of_the_route() -> None:
    one, other = found([read(5, "59.980"), read(4, "59.979", "rear", 90)])
    assert (one.at, one.count, one.read_mm, one.y_mm) == (
        "front/0",
        1,
        Fraction("59.980"),
        Fraction("59.9795"),
    )
    assert (other.at, other.row, other.y_mm) == ("rear/90", (0, "rear"), Fraction("59.9785"))


def test_repeats_are_averaged_without_rounding() -> None:
    (place,) = found(repeated("59.980", "59.980", "59.981"))
    assert (place.count, place.read_mm) == (3, Fraction("59.980") + Fraction(1, 3000))
    assert place.y_mm == place.read_mm - Fraction("0.0005")


def test_repeats_of_one_place_need_not_lie_side_by_side() -> None:
    taken = [
        read(1, "59.980", repeat=1),
        read(2, "59.970", angle=90, repeat=1),
        read(3, "59.982", repeat=2),
        read(4, "59.972", angle=90, repeat=2),
    ]
    assert [(place.at, place.read_mm) for place in found(taken)] == [
        ("front/0", Fraction("59.981")),
        ("front/90", Fraction("59.971")),
    ]


@pytest.mark.parametrize("lines", [(3, 7), (7, 3)])
def test_each_reading_of_two_brackets_is_corrected_by_its_own_and_the_last_one_gives_the_place(
    lines: tuple[int, int],
) -> None:
    # 59.980 less 0.5 and 59.984 less 1.5 (or the other way round): (59.9795 + 59.9825) / 2, while
    # the route may go against the order in which they were taken.
    about = by_line({3: FIRST, 7: SECOND})
    (place,) = found([read(lines[0], "59.980"), read(lines[1], "59.984", repeat=2)], about)
    assert place.y_mm == Fraction("59.981")
    assert place.about is SECOND
    assert (place.count, place.read_mm) == (2, Fraction("59.982"))


def test_three_readings_of_two_brackets_weigh_one_third_each() -> None:
    about = by_line({1: FIRST, 2: FIRST, 9: SECOND})
    taken = [read(1, "59.980"), read(2, "59.980", repeat=2), read(9, "59.980", repeat=3)]
    (place,) = found(taken, about)
    # 59.980 less (0.5 + 0.5 + 1.5) / 3
    assert place.y_mm == Fraction("59.980") - Fraction(25, 10) / 3 / 1000


def test_the_operators_of_a_study_are_apart() -> None:
    # repeats 1 and 3 are the first one's two trials, 2 and 4 the second one's
    two = found(repeated("59.980", "59.990", "59.982", "59.994"), operators=2)
    assert [(place.operator, place.count, place.read_mm) for place in two] == [
        (0, 2, Fraction("59.981")),
        (1, 2, Fraction("59.992")),
    ]


# --- which is the smallest ---


TABLE = {"front": {0: "59.980", 90: "59.979"}, "rear": {0: "59.981", 90: "59.979"}}


def test_of_equal_places_the_first_on_the_route_is_the_smallest_or_largest() -> None:
    alike = places_in(TABLE)
    assert are_alike(alike)
    for is_alike in (True, False):
        assert smallest(alike, alike=is_alike).at == "front/90"
        assert largest(alike, alike=is_alike).at == "rear/0"
    flat = places_in({"front": {0: "59.980", 90: "59.980"}})
    assert largest(flat, alike=True).at == smallest(flat, alike=False).at == "front/0"


def test_places_of_other_conditions_or_counts_are_compared_by_their_estimates() -> None:
    # read the same, but a larger error is taken off at the rear
    same = {"front": {0: "59.980"}, "rear": {0: "59.980"}}
    unlike = places_in(same, {"front": FIRST, "rear": SECOND})
    assert not are_alike(unlike)
    assert smallest(unlike, alike=False).at == "rear/0"
    counted = places_in({"front": {0: "59.980 59.982", 90: "59.979"}})
    assert not are_alike(counted)
    assert smallest(counted, alike=False).at == "front/90"


def test_a_place_of_two_brackets_is_like_no_other() -> None:
    about = by_line({1: FIRST, 2: SECOND, 3: SECOND, 4: SECOND})
    taken = [read(1, "59.980"), read(2, "59.980", repeat=2)]
    taken += [read(3, "59.980", angle=90), read(4, "59.980", angle=90, repeat=2)]
    assert not are_alike(found(taken, about))


def test_differences_are_taken_before_they_become_floats() -> None:
    wide = {"front": {0: "1234567890.000001", 90: "1234567890.000002"}}
    shown = places_in(wide)
    for alike in (True, False):
        assert above_first(shown, alike=alike) == [0.0, 1e-6]
