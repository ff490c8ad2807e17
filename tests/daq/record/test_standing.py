"""The standing readings of one journal."""

import random
from decimal import Decimal

from daq.lengths import Position
from daq.record.standing import JournalReadings
from tests.judged_builders import journal_plan, journal_readings, limits

PLACES = [
    Position("M1", station, angle, repeat)
    for station in ("front", "rear")
    for angle in (0, 90)
    for repeat in (1, 2)
]


def test_readings_are_in_route_order_whatever_the_order_they_came_in() -> None:
    plan = journal_plan(limits(), repeats=2)
    whole = journal_readings(plan, dict.fromkeys(PLACES, Decimal("59.980")))
    assert whole is not None
    taken = list(whole.taken)
    assert [each.position for each in taken] == PLACES
    random.Random(1).shuffle(taken)
    made = JournalReadings.of(plan, taken[:1])
    asked = made
    for each in taken[1:]:
        made, asked = made.added(each), asked.added(each)
        assert set(asked.taken) == set(asked.standing.values())
    assert made.taken == asked.taken == whole.taken


def test_one_takes_the_place_of_the_one_that_stood_there() -> None:
    plan = journal_plan(limits(), repeats=2)
    old = journal_readings(plan, {PLACES[0]: Decimal("59.980")})
    new = journal_readings(plan, {PLACES[0]: Decimal("59.981")})
    assert old is not None
    assert new is not None
    assert old.added(new.taken[0]).taken == new.taken
    assert len(old.taken) == 1  # now their order was asked for
    assert old.added(new.taken[0]).taken == new.taken


def test_without_the_last_one_there_are_none() -> None:
    plan = journal_plan(limits(), repeats=2)
    found = journal_readings(plan, dict.fromkeys(PLACES[:2], Decimal("59.980")))
    assert found is not None
    one = found.without(found.taken[0])
    assert one is not None
    assert one.taken == found.taken[1:]
    assert one.without(one.taken[0]) is None
