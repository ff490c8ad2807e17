"""Cranks as they come into a shop, drawn at random, and what is true of each journal. Pure.

All sizes are binary floats in um over the low limit: this is what a shop never knows, not what it
measures. A journal has two ends, each an oval: its diameter in the direction t is
mean + oval / 2 cos 2(t - direction).
"""

import math
from collections.abc import Callable, Mapping
from random import Random
from typing import TypeAlias

import msgspec

FORM_LIMIT_UM = 5.0
"""Of out-of-round and of taper."""

JOURNALS, WORN_MOST = 4, 2
"""On a crank; at most so many of a worn one are worn."""


class End(msgspec.Struct, frozen=True):
    """One end of a journal. `oval_um`: its largest diameter less its smallest."""

    mean_um: float
    oval_um: float
    direction_rad: float

    def diameter_um(self, angle_rad: float) -> float:
        """In one direction."""
        return self.mean_um + self.oval_um / 2 * math.cos(2 * (angle_rad - self.direction_rad))


class Journal(msgspec.Struct, frozen=True):
    """A journal by its two ends; in between nothing is larger or smaller."""

    front: End
    rear: End

    @property
    def ends(self) -> tuple[End, End]:
        """Front and rear, the order in which they are measured."""
        return self.front, self.rear

    @property
    def smallest_um(self) -> float:
        """The smallest diameter all around both ends."""
        return min(end.mean_um - end.oval_um / 2 for end in self.ends)

    @property
    def largest_um(self) -> float:
        """The largest."""
        return max(end.mean_um + end.oval_um / 2 for end in self.ends)

    @property
    def out_of_round_um(self) -> float:
        """The larger of the ends' ovals."""
        return max(end.oval_um for end in self.ends)

    @property
    def taper_um(self) -> float:
        """The largest difference of the ends in one direction, whichever that is: two ovals differ
        by a third, as two vectors of the doubled angle do.
        """
        one, other = self.front, self.rear
        apart = 2 * (one.direction_rad - other.direction_rad)
        oval = math.hypot(
            one.oval_um - other.oval_um * math.cos(apart), other.oval_um * math.sin(apart)
        )
        return abs(one.mean_um - other.mean_um) + oval / 2

    @property
    def outside_um(self) -> float:
        """By how much the journal fails its low limit or a limit of form, whichever it fails by
        more; negative where it keeps them all. What is used has no high limit to keep.
        """
        return max(
            -self.smallest_um,
            self.out_of_round_um - FORM_LIMIT_UM,
            self.taper_um - FORM_LIMIT_UM,
        )

    def is_good(self, tolerance_um: float) -> bool:
        """It keeps every limit, the high one too."""
        return self.outside_um <= 0 and self.largest_um <= tolerance_um


Crank: TypeAlias = tuple[Journal, ...]
Population: TypeAlias = Callable[[Random, float], Crank]
"""Draws a crank; the second argument is the tolerance in um."""


def good(rng: Random, tolerance_um: float) -> Crank:
    """A crank that left the works not long ago: worn by up to 15 % of its tolerance."""
    return tuple(_good(rng, tolerance_um) for _ in range(JOURNALS))


def used(rng: Random, tolerance_um: float) -> Crank:
    """Anywhere in the tolerance, and some under it by form; both ends are worn alike."""
    return tuple(
        _alike(rng, _used_mean(rng, tolerance_um), rng.uniform(0, 4.5), 4) for _ in range(JOURNALS)
    )


def unlike(rng: Random, tolerance_um: float) -> Crank:
    """As `used`, but the rear is worn less and in a direction of its own."""
    return tuple(_unlike(journal, rng) for journal in used(rng, tolerance_um))


def worn(rng: Random, tolerance_um: float) -> Crank:
    """Good, but for one or two journals that a bearing has run on dry."""
    bad = rng.sample(range(JOURNALS), rng.randint(1, WORN_MOST))
    return tuple(
        _alike(rng, tolerance_um / 2 - rng.uniform(6, 35), rng.uniform(3, 15), 6)
        if number in bad
        else _good(rng, tolerance_um)
        for number in range(JOURNALS)
    )


POPULATIONS: Mapping[str, Population] = {"good": good, "used": used, "unlike": unlike, "worn": worn}


def _good(rng: Random, tolerance_um: float) -> Journal:
    mean = tolerance_um / 2 + rng.gauss(0, tolerance_um / 8) - rng.uniform(0, 0.15 * tolerance_um)
    return _alike(rng, mean, rng.uniform(0.3, 2.2), 1.5)


def _used_mean(rng: Random, tolerance_um: float) -> float:
    return rng.uniform(2, tolerance_um - 5)


def _alike(rng: Random, mean_um: float, oval_um: float, taper_um: float) -> Journal:
    """One oval in one direction; the ends' means differ by up to `taper_um` either way."""
    taper, direction = rng.uniform(-taper_um, taper_um), rng.uniform(0, math.pi)
    return Journal(
        End(mean_um - taper / 2, oval_um, direction), End(mean_um + taper / 2, oval_um, direction)
    )


def _unlike(journal: Journal, rng: Random) -> Journal:
    rear = End(
        journal.rear.mean_um, journal.rear.oval_um * rng.uniform(0.3, 1), rng.uniform(0, math.pi)
    )
    return Journal(journal.front, rear)
