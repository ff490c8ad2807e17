"""The places of a journal as a board shows them; remade only where something changed. Pure."""

from collections.abc import Iterator, Mapping
from fractions import Fraction

import msgspec

from daq.board.board import PlaceShown
from daq.evaluation.inputs import SessionFacts, conditions_of
from daq.lengths import Position, mean_text
from daq.plan.plan import JournalPlan
from daq.record.standing import JournalReadings, PartReading
from daq.record.state import State

STATES = {"open": "measured", "proven": "proven", "tainted": "again"}
"""How a place stands, by the fate of its reading."""


class Placed(msgspec.Struct, frozen=True):
    """A journal's places as shown, and what they were made from; `estimates_mm` by line."""

    shown: tuple[PlaceShown, ...]
    readings: JournalReadings | None
    fated: Mapping[int, str]
    skipped: frozenset[Position]
    about: SessionFacts
    estimates_mm: Mapping[int, str]


def placed(
    state: State,
    journal: JournalPlan,
    fated: Mapping[int, str],
    about: SessionFacts,
    last: Placed | None,
) -> Placed:
    """The places of one journal in route order; `fated` has the fates of its readings by line, and
    `last` is what was made before, None at first.
    """
    readings = state.by_journal.get(journal.name)
    skipped = frozenset(place for place in state.skips if place.journal == journal.name)
    is_same = last is not None and last.readings is readings and last.about is about
    if last is not None and is_same and last.fated == fated and last.skipped == skipped:
        return last
    known = last.estimates_mm if last is not None and last.about is about else {}
    taken = {each.position: each for each in readings.taken} if readings is not None else {}
    conditions = conditions_of(state, journal, about)
    estimates = {
        each.seq: known.get(each.seq) or mean_text(conditions(each).estimate(Fraction(each.mm)))
        for each in taken.values()
    }
    shown = tuple(
        _place(place, taken.get(place), fated, skipped, estimates) for place in _positions(journal)
    )
    return Placed(shown, readings, fated, skipped, about, estimates)


def _positions(journal: JournalPlan) -> Iterator[Position]:
    for station in journal.stations:
        for angle in journal.angles_deg:
            for repeat in range(1, journal.repeats + 1):
                yield Position(journal.name, station, angle, repeat)


def _place(
    place: Position,
    taken: PartReading | None,
    fated: Mapping[int, str],
    skipped: frozenset[Position],
    estimates: Mapping[int, str],
) -> PlaceShown:
    at = place.station, place.angle_deg, place.repeat
    if taken is None:
        return PlaceShown(*at, "skipped" if place in skipped else "to-come")
    state = STATES[fated[taken.seq]]
    return PlaceShown(*at, state, taken.sent.value, taken.sent.unit, estimates[taken.seq])
