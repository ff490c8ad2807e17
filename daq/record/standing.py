"""The standing readings of a part, one record for each, gathered by journal. Pure.

What follows from one journal's readings alone is worked out once and kept beside them: a session of
thousands is judged again after each new reading, and only one journal has changed.
"""

from bisect import insort
from collections import Counter
from collections.abc import Iterable, Sequence
from decimal import Decimal
from functools import cached_property
from operator import attrgetter

import msgspec

from daq.lengths import EXACT, Position
from daq.metrology.form import FormFound, form_of
from daq.metrology.statistics.samples import (
    NO_SQUARES,
    ExactSquares,
    Squares,
    exact_squares,
    squares,
    together,
)
from daq.plan.plan import JournalPlan
from daq.plan.route import turn_of
from daq.record.events import Sent
from daq.record.shared_map import SharedMap


class PartReading(msgspec.Struct, frozen=True, gc=False):
    """A reading of the part. `seq` is the line that holds its number; `run` counts from 0 the
    setup in force when it was taken. `mm` is the value in mm, exactly; `at_20c_mm` that at 20
    degrees Celsius, the same number where nothing is to be corrected.
    """

    seq: int
    at_us: int
    run: int
    stint: int
    position: Position
    sent: Sent
    mm: Decimal
    at_20c_mm: Decimal


class PlaceRead(msgspec.Struct, frozen=True):
    """What was read at one place, by one operator (from 0; others only in a study). `total_mm`: the
    sum of the readings as read, exactly.
    """

    operator: int
    station: str
    angle_deg: int
    taken: tuple[PartReading, ...]
    total_mm: Decimal


class JournalReadings(msgspec.Struct, frozen=True, dict=True):
    """The standing readings of one journal by their places; at least one. `operators`: so many take
    turns at each place, in a gauge study; else one.
    """

    journal: JournalPlan
    standing: SharedMap[Position, PartReading]
    operators: int = 1

    @classmethod
    def of(
        cls, journal: JournalPlan, taken: Iterable[PartReading], operators: int = 1
    ) -> "JournalReadings":
        """Of these, each at a place of its own."""
        return cls(journal, SharedMap((each.position, each) for each in taken), operators)

    def added(self, taken: PartReading) -> "JournalReadings":
        """With one more; it takes the place of one that stood there."""
        standing = self.standing.with_item(taken.position, taken)
        made = JournalReadings(self.journal, standing, self.operators)
        in_order = vars(self).get("taken")  # if somebody asked for it: a fold needs no order
        if in_order is not None:
            vars(made)["taken"] = self._in_order(in_order, taken)
        return made

    def _in_order(
        self, found: tuple[PartReading, ...], one: PartReading
    ) -> tuple[PartReading, ...]:
        """Readings in route order with one more."""
        if self._order(one) > self._order(found[-1]):  # the usual case
            return (*found, one)
        others = [each for each in found if each.position != one.position]
        insort(others, one, key=self._order)
        return tuple(others)

    def _order(self, each: PartReading) -> tuple[int, int, int]:
        journal, at = self.journal, each.position
        return journal.station_order[at.station], journal.angle_order[at.angle_deg], at.repeat

    def without(self, gone: PartReading) -> "JournalReadings | None":
        """Without one of them; None if it was the last."""
        standing = self.standing.without(gone.position)
        return JournalReadings(self.journal, standing, self.operators) if standing else None

    @cached_property
    def taken(self) -> tuple[PartReading, ...]:
        """Them in route order."""
        return tuple(sorted(self.standing.values(), key=self._order))

    @cached_property
    def smallest(self) -> PartReading:
        """The smallest at 20 degrees Celsius, the first on the route of equal ones."""
        return min(self.taken, key=_at_20c)

    @cached_property
    def largest(self) -> PartReading:
        """The largest."""
        return max(self.taken, key=_at_20c)

    @cached_property
    def form(self) -> FormFound:
        """Its two-point form."""
        taken = [(each.position, each.at_20c_mm) for each in self.taken]
        return form_of(taken, self.journal.repeats, self.journal.taper_limit)

    @cached_property
    def by_place(self) -> tuple[PlaceRead, ...]:
        """The readings gathered by place, in route order."""
        found: dict[tuple[int, str, int], list[PartReading]] = {}
        if self.journal.repeats == 1:
            return tuple(
                PlaceRead(0, each.position.station, each.position.angle_deg, (each,), each.mm)
                for each in self.taken
            )
        for each in self.taken:
            at = each.position
            whose = turn_of(at.repeat, self.operators).operator
            found.setdefault((whose, at.station, at.angle_deg), []).append(each)
        return tuple(PlaceRead(*key, tuple(own), _total(own)) for key, own in found.items())

    @cached_property
    def last_of_parts(self) -> dict[tuple[int, int], PartReading]:
        """The last reading on the route of each stint and run, by their numbers."""
        return {(each.stint, each.run): each for each in self.taken}

    @cached_property
    def fewest_repeats(self) -> int:
        """The fewest readings at one place."""
        if self.journal.repeats == 1:
            return 1
        places = Counter([(each.position.station, each.position.angle_deg) for each in self.taken])
        return min(places.values())

    @cached_property
    def extremes(self) -> dict[tuple[int, int], tuple[PartReading, PartReading]]:
        """The smallest and the largest of each stint and run, by their numbers."""
        if len(self.last_of_parts) == 1:
            return dict.fromkeys(self.last_of_parts, (self.smallest, self.largest))
        return {
            part: (
                min((e for e in self.taken if (e.stint, e.run) == part), key=_at_20c),
                max((e for e in self.taken if (e.stint, e.run) == part), key=_at_20c),
            )
            for part in self.last_of_parts
        }

    @cached_property
    def seqs(self) -> tuple[int, int]:
        """The first and the last line of the ledger that holds one of them."""
        lines: list[int] = list(map(attrgetter("seq"), self.taken))
        return min(lines), max(lines)

    @cached_property
    def span_us(self) -> int:
        """From the earliest to the latest of them."""
        moments: list[int] = list(map(attrgetter("at_us"), self.taken))
        return max(moments) - min(moments)

    @cached_property
    def _repeats(self) -> list[tuple[int, list[Decimal]]]:
        """The stint and the readings as read, in mm, of each place that one operator read more than
        once.
        """
        if self.journal.repeats == 1:
            return []
        places: dict[tuple[int, int, int, str, int], list[Decimal]] = {}
        for each in self.taken:
            at = each.position
            whose = turn_of(at.repeat, self.operators).operator
            place = (each.stint, each.run, whose, at.station, at.angle_deg)
            places.setdefault(place, []).append(each.mm)
        return [(place[0], sample) for place, sample in places.items() if len(sample) > 1]

    @cached_property
    def repeat_squares(self) -> dict[int, Squares]:
        """The scatter of repeats at a place by stint, taken by one operator; in square mm."""
        found: dict[int, list[Squares]] = {}
        for stint, sample in self._repeats:
            found.setdefault(stint, []).append(squares(sample))
        return {stint: together(each) for stint, each in found.items()}

    @cached_property
    def exact_repeat_squares(self) -> dict[int, ExactSquares]:
        """The same, as fractions."""
        found: dict[int, ExactSquares] = {}
        for stint, sample in self._repeats:
            found[stint] = found.get(stint, NO_SQUARES) + exact_squares(sample)
        return found


def _total(taken: Sequence[PartReading]) -> Decimal:
    total = Decimal(0)
    for each in taken:
        total = EXACT.add(total, each.mm)
    return total


def is_place_of(journal: JournalPlan, position: Position) -> bool:
    """The plan has this place on this journal."""
    return position.station in journal.station_order and position.angle_deg in journal.angle_order


_at_20c = attrgetter("at_20c_mm")
