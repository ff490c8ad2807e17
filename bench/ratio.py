"""Interleaved rounds and ratios: ours against a limit, never two moments against each other.

Other load on a machine comes and goes, so both programs run in every round, in shuffled order, and
a ratio is taken within each round before the rounds are put together.
"""

import random
from collections.abc import Callable, Mapping, Sequence
from statistics import median
from typing import TypeAlias

import msgspec

SLACK = 1.10
"""A timed gate is missed above limit x SLACK. Chosen by us: medians of 9 rounds spread so much."""

LEAST_ROUNDS = 9

Program: TypeAlias = Callable[[], float]
"""Does its work once and gives the time taken, in a unit of its own choice."""


class Ratio(msgspec.Struct, frozen=True):
    """Ours over the limit: the median over the rounds, and the smallest and largest round."""

    middle: float
    least: float
    most: float


def interleaved(
    programs: Mapping[str, Program], rounds: int, seed: int = 1
) -> dict[str, list[float]]:
    """Each program's times, one a round; within a round all run once, in shuffled order."""
    order = list(programs)
    shuffle = random.Random(seed).shuffle
    times: dict[str, list[float]] = {name: [] for name in programs}
    for _ in range(rounds):
        shuffle(order)
        for name in order:
            times[name].append(programs[name]())
    return times


def ratio(ours: Sequence[float], limit: Sequence[float]) -> Ratio:
    """Ours over the limit, round by round; ValueError if the rounds are not the same in number."""
    each = [one / other for one, other in zip(ours, limit, strict=True)]
    return Ratio(median(each), min(each), max(each))


class Row(msgspec.Struct, frozen=True):
    """One goal and what came of it. `limit` and `ours` are texts with their units.

    `value` must not be above `bound`, nor below it if `is_exact`. It is a ratio if `is_timed`, else
    a count. `spread` says how far the rounds lay apart, and is empty for counts.
    """

    goal: str
    limit: str
    ours: str
    value: float
    bound: float
    is_timed: bool = False
    is_exact: bool = False
    spread: str = ""

    @property
    def verdict(self) -> str:
        """`met`, `within slack` (timed, up to SLACK above the goal) or `MISSED`."""
        if self.value == self.bound or (self.value < self.bound and not self.is_exact):
            return "met"
        if self.is_timed and self.value <= self.bound * SLACK:
            return "within slack"
        return "MISSED"

    @property
    def is_missed(self) -> bool:
        """The gate of this goal is missed."""
        return self.verdict == "MISSED"


def timed_row(
    goal: str, bound: float, ours: Sequence[float], limit: Sequence[float], unit: str
) -> Row:
    """The row of a timed goal; the times are in `unit`."""
    found = ratio(ours, limit)
    return Row(
        goal=goal,
        limit=f"{median(limit):.3g} {unit}",
        ours=f"{median(ours):.3g} {unit}",
        value=found.middle,
        bound=bound,
        is_timed=True,
        spread=f"{found.least:.2f}-{found.most:.2f}",
    )
