"""What is drawn of a journal's diameters: a value a place, and the scale that shows them. Pure."""

from collections.abc import Sequence
from fractions import Fraction

import msgspec

from daq.board.board import JournalRow
from daq.lengths import MM_PER
from daq.pictures.layout import JournalDrawn
from daq.pictures.scale import covering

MOST_RINGS = 7


class DiameterDrawn(msgspec.Struct, frozen=True):
    """The diameter of one place, which is the mean of its repeats, exact in mm."""

    station: str
    angle_deg: int
    mm: Fraction

    @property
    def place(self) -> str:
        """As the tables write it."""
        return f"{self.station}/{self.angle_deg}"


class RadialScale(msgspec.Struct, frozen=True):
    """From diameters in the unit of the picture to radii: `low` lies on `inner`, `high` on `outer`,
    a ring every `step`.
    """

    low: float
    high: float
    step: float
    inner: float
    outer: float

    def radius(self, value: float) -> float:
        """Where a diameter lies."""
        share = (value - self.low) / (self.high - self.low)
        return self.inner + share * (self.outer - self.inner)

    @property
    def rings(self) -> list[float]:
        """The radii of the rings, from the inner to the outer one."""
        count = round((self.high - self.low) / self.step)
        return [
            self.inner + (self.outer - self.inner) * at / count for at in range(max(1, count) + 1)
        ]

    @property
    def magnification(self) -> float:
        """How many times larger deviations are drawn than the circle itself, which is drawn at the
        middle of the scale: the radius grows by half of what the diameter does.
        """
        middle = (self.low + self.high) / 2
        own = (self.inner + self.outer) / 2 / middle
        return (self.outer - self.inner) / (self.high - self.low) / own


def diameters(row: JournalRow | None) -> list[DiameterDrawn]:
    """The diameters that stand, in route order: those that must be measured again do not."""
    if row is None:
        return []
    found: dict[tuple[str, int], list[Fraction]] = {}
    for place in row.places:
        if place.state in ("measured", "proven") and place.estimate_mm:
            at = place.station, place.angle_deg
            found.setdefault(at, []).append(Fraction(place.estimate_mm))
    return [
        DiameterDrawn(station, angle, sum(values, Fraction(0)) / len(values))
        for (station, angle), values in found.items()
    ]


def smallest_of(found: Sequence[DiameterDrawn]) -> DiameterDrawn | None:
    """The smallest of them, the first one on the route of those that are equal."""
    return min(found, key=lambda each: each.mm, default=None)


def in_unit(mm: Fraction, unit: str) -> float:
    """A length as the picture counts it."""
    return float(mm / Fraction(MM_PER[unit]))


def scale_of(
    journal: JournalDrawn, found: Sequence[DiameterDrawn], inner: float, outer: float
) -> RadialScale:
    """A scale that holds the limits and every diameter, on whole steps of 1, 2 or 5."""
    every = [Fraction(journal.low.mm), *(each.mm for each in found)]
    if journal.high is not None:
        every.append(Fraction(journal.high.mm))
    values = [in_unit(mm, journal.unit) for mm in every]
    low, high, step = covering(min(values), max(values), MOST_RINGS)
    return RadialScale(low, high, step, inner, outer)
