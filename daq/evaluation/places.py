"""A journal's places: what was read at each, and the best estimate that it gives. Pure."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction
from operator import attrgetter

import msgspec

from daq.evaluation.conditions import Conditions
from daq.lengths import EXACT
from daq.record.standing import PartReading, PlaceRead


class Place(msgspec.Struct, frozen=True):
    """One place: its readings averaged. `operator`: whose turn it was in a study, from 0.

    `total_mm`: sum of its `count` readings as the gauge showed them; `about`: the conditions of its
    last reading. `own_y_mm`: the estimate where its readings were taken between different checks,
    None where `about` holds for all of them.
    """

    operator: int
    station: str
    angle_deg: int
    count: int
    total_mm: Decimal
    about: Conditions
    own_y_mm: Fraction | None = None

    @property
    def read_mm(self) -> Fraction:
        """The mean as the gauge showed it."""
        return Fraction(self.total_mm) / self.count

    @property
    def y_mm(self) -> Fraction:
        """The estimate at 20 degrees Celsius."""
        return self.about.estimate(self.read_mm) if self.own_y_mm is None else self.own_y_mm

    @property
    def at(self) -> str:
        """Station and angle as the tables name them."""
        return f"{self.station}/{self.angle_deg}"

    @property
    def row(self) -> tuple[int, str]:
        """What it shares with the places around it: operator and station."""
        return self.operator, self.station


def places(
    read: Sequence[PlaceRead], about: Callable[[PartReading], Conditions]
) -> tuple[Place, ...]:
    """The places of readings in route order; `about` gives the conditions of a reading.

    Repeats between the same checks share their error; of a place with repeats in several brackets
    each reading is corrected by its own, and the place counts as of its last reading.
    """
    return tuple(_place(each, about) for each in read)


def _place(read: PlaceRead, about: Callable[[PartReading], Conditions]) -> Place:
    count = len(read.taken)
    at = read.operator, read.station, read.angle_deg, count, read.total_mm
    if count == 1:
        return Place(*at, about(read.taken[0]))
    last = about(max(read.taken, key=_line))
    if about(min(read.taken, key=_line)) is last:  # lines, checks, stints and runs go up together
        return Place(*at, last)
    corrected = [about(each).estimate(Fraction(each.mm)) for each in read.taken]
    return Place(*at, last, sum(corrected, Fraction(0)) / count)


_line = attrgetter("seq")
_total = attrgetter("total_mm")
_y = attrgetter("y_mm")


def are_alike(found: Sequence[Place]) -> bool:
    """All have the same conditions and as many readings: their order is that of their sums."""
    about, count = found[0].about, found[0].count
    return all(
        each.about is about and each.count == count and each.own_y_mm is None for each in found
    )


def smallest(found: Sequence[Place], *, alike: bool) -> Place:
    """The place with the smallest estimate, the first of equal ones; `alike`: `are_alike`."""
    return min(found, key=_total if alike else _y)


def largest(found: Sequence[Place], *, alike: bool) -> Place:
    """The place with the largest estimate, the first of equal ones."""
    return max(found, key=_total if alike else _y)


def above_first(found: Sequence[Place], *, alike: bool) -> list[float]:
    """The estimates less the first one, in mm, as floats: taken exactly, then rounded once."""
    first = found[0]
    if not alike:
        y = first.y_mm
        return [float(each.y_mm - y) for each in found]
    by = float(first.about.ratio) / first.count
    return [float(EXACT.subtract(each.total_mm, first.total_mm)) * by for each in found]
