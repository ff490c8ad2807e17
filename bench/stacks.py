"""Composing stacks: a thousand random sizes from the set of 112 blocks.

`python -m bench.stacks` prints both goals. Times are CPU time: nothing here waits. The limit is a
plain search that adds up every stack of up to four blocks (`itertools.combinations`, whole
numbers). Ours goes to five; the plain search would take some twenty times as long for that.
"""

import random
import time
from collections.abc import Sequence
from decimal import Decimal
from itertools import combinations
from pathlib import Path
from statistics import median

import msgspec

from bench.ratio import Row, timed_row
from daq.equipment.stacks.compose import in_steps
from daq.equipment.stacks.making import Maker
from daq.lengths import Length
from daq.services.home import load_block_set

SIZES = 1_000
BOUND_MS = 50
"""At the worst size: the goal is a time, so it belongs to an ordinary machine."""

PLAIN_BLOCKS = 4
"""So many blocks the plain search goes to: that takes it up to a second a size."""

_STEP = Decimal("0.0005")


class Composed(msgspec.Struct, frozen=True):
    """The times of composing, in ms, one a size; `without` counts the sizes that have no stack."""

    times_ms: tuple[float, ...]
    without: int

    @property
    def worst_ms(self) -> float:
        """The slowest size."""
        return max(self.times_ms)


def sizes(count: int, seed: int = 1) -> list[Length]:
    """Random sizes on the steps of the set, from its shortest block to its five longest."""
    values = sorted(one.nominal.mm for one in _maker().block_set.blocks)
    low, high = int(values[0] / _STEP), int(sum(values[-5:]) / _STEP)
    rng = random.Random(seed)
    return [Length(rng.randint(low, high) * _STEP, "mm") for _ in range(count)]


def _maker() -> Maker:
    return Maker(load_block_set("M112", "mm", Path("nowhere")))


def composed(wanted: Sequence[Length]) -> Composed:
    """Compose each size from the start, as the command does once the set is read: the search made
    ready, the stack of fewest blocks, or the nearest sizes with theirs.
    """
    block_set = _maker().block_set
    times = []
    without = 0
    for size in wanted:
        began = time.process_time()
        maker = Maker(block_set)
        if not maker.stacks(size, 1):
            maker.none(size)
            without += 1
        times.append((time.process_time() - began) * 1000)
    return Composed(tuple(times), without)


def plain_search_ms(size: Length) -> float:
    """The plain search of one size: every stack of up to PLAIN_BLOCKS blocks is added up."""
    values = [in_steps(one.nominal.mm) for one in _maker().block_set.blocks]
    target = in_steps(size.mm)
    began = time.process_time()
    for count in range(1, PLAIN_BLOCKS + 1):
        for stack in combinations(values, count):
            if sum(stack) == target:
                return (time.process_time() - began) * 1000
    return (time.process_time() - began) * 1000


def measure(rounds: int) -> list[Row]:
    """The goals: the worst of a thousand sizes under its bound, the median against the plain search
    of the same size, which looks at fewer blocks.
    """
    found = composed(sizes(SIZES))
    ours, limit = [], []
    for size in sizes(rounds, seed=2):
        limit.append(plain_search_ms(size))
        ours.append(composed([size]).times_ms[0])
    said = f"worst {found.worst_ms:.1f} ms, median {median(found.times_ms):.2f} ms"
    return [
        Row(
            goal=f"stack from 112 blocks, worst of {SIZES} sizes in ms ({found.without} have none)",
            limit=f"{BOUND_MS} ms",
            ours=said,
            value=round(found.worst_ms, 1),
            bound=BOUND_MS,
        ),
        timed_row(
            f"stack of up to 5 blocks against adding up all of {PLAIN_BLOCKS}", 1, ours, limit, "ms"
        ),
    ]


def main() -> None:
    """Print both goals."""
    for row in measure(9):
        print(f"{row.goal}: {row.ours}; limit {row.limit}; {row.value:.3g} ({row.verdict})")


if __name__ == "__main__":
    main()
