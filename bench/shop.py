"""A shop that measures a crank: its gauge, stack and temperatures, drawn at random, and what the
gauge shows. Pure.

Sizes are binary floats in um over the low limit, to which the stack is wrung. What is shown is a
whole number of the gauge's steps of 1 um. Time runs from 0, the check before, to 1, the check
after; the readings of the part lie evenly between.
"""

import math
from collections.abc import Sequence
from random import Random

import msgspec

from bench.cranks import Crank

LOW_UM = 59_970.0
PER_K = 11.5e-6
"""The coefficient that the plan states for part and stack."""
PITCH_UM = 500.0
ANGLES_DEG = (0, 45, 90, 135)
CHECK_READINGS = 5
STACK_LIMITS_UM = (0.2, 0.2, 0.4)
"""Of the three blocks of the stack: 1.47, 8.5 and 50 mm of grade 1."""


class Drawn(msgspec.Struct, frozen=True):
    """How the gauges of a shop behave: `scatter`: the least and the largest standard deviation of
    one reading, in steps; those of offset and drift; by how many steps more it shows for a while
    that is over before the check after.
    """

    scatter: tuple[float, float]
    offset: float = 0.6
    drift: float = 0.4
    excursion: float = 0.0


class Shop(msgspec.Struct, frozen=True):
    """One job. `jump_at`: when the drift comes all at once; None where it creeps. `excursion`: from
    when to when, and by how much. `stack_um`: true size of the stack. `part_c`, `stack_c`: true
    temperatures, `part_said_c` and `stack_said_c` what the thermometers showed, in tenths of a
    degree.
    """

    scatter_um: float
    offset_um: float
    drift_um: float
    jump_at: float | None
    excursion: tuple[float, float, float]
    screw_um: float
    screw_at_rad: float
    stack_um: float
    part_c: float
    stack_c: float
    part_per_k: float
    stack_per_k: float
    part_said_c: int
    stack_said_c: int

    @property
    def growth(self) -> float:
        """By what the part grew more than the stack did; a gauge that was proven on that stack
        shows the part larger by as much.
        """
        grown = 1 + self.part_per_k * (self.part_c - 20)
        return grown / (1 + self.stack_per_k * (self.stack_c - 20))

    def moved_um(self, at: float) -> float:
        """How far the gauge is from where it was at the check before."""
        begin, end, by = self.excursion
        away = by if begin <= at < end else 0.0
        if self.jump_at is None:
            return away + self.drift_um * at
        return away + (self.drift_um if at >= self.jump_at else 0.0)

    def turned_um(self, size_um: float) -> float:
        """The screw's error at a size beyond that on the stack, which the offset holds."""
        angle = self.screw_at_rad + math.tau * size_um / PITCH_UM
        return self.screw_um * (math.sin(angle) - math.sin(self.screw_at_rad))

    def shown(self, rng: Random, size_um: float, at: float) -> int:
        """What the gauge shows of a size as it is now."""
        error = self.offset_um + self.moved_um(at) + self.turned_um(size_um)
        return round(size_um + error + rng.gauss(0, self.scatter_um))


class Shown(msgspec.Struct, frozen=True):
    """All that the gauge showed, in steps over the low limit: of the stack before and after, and of
    each place its repeats, journal by journal, station by station, angle by angle.
    """

    before: tuple[int, ...]
    after: tuple[int, ...]
    places: tuple[tuple[int, ...], ...]


def drawn_shop(rng: Random, drawn: Drawn) -> Shop:
    """A shop for one job."""
    room = rng.uniform(17, 23)
    part_c, stack_c = room + rng.gauss(0, 0.25), room + rng.gauss(0, 0.25)
    begin, end = sorted((rng.random(), rng.random()))
    return Shop(
        scatter_um=rng.uniform(*drawn.scatter),
        offset_um=rng.gauss(0, drawn.offset),
        drift_um=rng.gauss(0, drawn.drift),
        jump_at=rng.random() if rng.random() < 0.5 else None,
        excursion=(begin, end, drawn.excursion),
        screw_um=rng.uniform(0.3, 1),
        screw_at_rad=rng.uniform(0, math.tau),
        stack_um=sum(rng.uniform(-limit, limit) for limit in STACK_LIMITS_UM),
        part_c=part_c,
        stack_c=stack_c,
        part_per_k=PER_K * rng.uniform(0.9, 1.1),
        stack_per_k=PER_K * rng.uniform(0.9, 1.1),
        part_said_c=round(10 * (part_c + rng.uniform(-0.5, 0.5))),
        stack_said_c=round(10 * (stack_c + rng.uniform(-0.5, 0.5))),
    )


def check_shown(rng: Random, shop: Shop, at: float) -> tuple[int, ...]:
    """A check's readings of the stack."""
    return tuple(shop.shown(rng, shop.stack_um, at) for _ in range(CHECK_READINGS))


def measured(rng: Random, shop: Shop, crank: Crank, repeats: int) -> Shown:
    """A whole session: check, every place so often, check."""
    before = check_shown(rng, shop, 0)
    sizes = _as_warm(shop, crank)
    count, number, places = len(sizes) * repeats, 0, []
    for size in sizes:
        of_place = []
        for _ in range(repeats):
            of_place.append(shop.shown(rng, size, (number + 0.5) / count))
            number += 1
        places.append(tuple(of_place))
    return Shown(before, check_shown(rng, shop, 1), tuple(places))


def _as_warm(shop: Shop, crank: Crank) -> Sequence[float]:
    """The diameter at each place of the route, as the gauge would show it without any error."""
    angles = [math.radians(angle) for angle in ANGLES_DEG]
    return [
        (LOW_UM + end.diameter_um(angle)) * shop.growth - LOW_UM
        for journal in crank
        for end in journal.ends
        for angle in angles
    ]
