"""Which blocks make a size: exact, fewest first, each block once. Pure.

Everything is counted in whole steps of 1e-12 mm, so no sum is ever rounded. The search is complete:
the longest block of the rest is tried from the longest down, and the last two blocks come out of a
table of all pairs, so that up to five blocks of a set of 112 take some milliseconds.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import accumulate, islice, product
from math import gcd

import msgspec

from daq.equipment.stacks.block import Block
from daq.lengths import EXACT

MOST_BLOCKS = 5
"""In one stack, protectors apart. Chosen by us: more joints make it worse than a nearby size."""

_STEPS_PER_MM = Decimal(10**12)
_PLACE_BYTES = 2


def in_steps(mm: Decimal) -> int:
    """A length in whole steps of 1e-12 mm; ValueError if it is none."""
    steps = EXACT.multiply(mm, _STEPS_PER_MM)
    if steps != steps.to_integral_value():
        raise ValueError(f"{mm} mm is finer than 1e-12 mm")
    return int(steps)


def from_steps(steps: int) -> Decimal:
    """The length in mm, exactly."""
    return EXACT.scaleb(Decimal(steps), -12)


class Bench:
    """The blocks that may be used, ready for searching. `blocks` are sorted, shortest first."""

    def __init__(self, blocks: Sequence[Block]) -> None:
        self.blocks = tuple(sorted(blocks, key=lambda one: (one.nominal.mm, one.mark)))
        self.values = [in_steps(one.nominal.mm) for one in self.blocks]
        self._below = [0, *accumulate(self.values)]
        # By their sum, all pairs as bytes: thousands of small objects would wake the garbage
        # collector, which takes longer than the search.
        self._pairs: dict[int, bytes] = {}
        places = [place.to_bytes(_PLACE_BYTES, "big") for place in range(len(self.values))]
        get = self._pairs.get
        for longer, value in enumerate(self.values):
            head = places[longer]
            for shorter in range(longer):
                total = value + self.values[shorter]
                self._pairs[total] = get(total, b"") + head + places[shorter]

    def stacks(self, target: int, count: int) -> Iterator[tuple[int, ...]]:
        """All stacks of exactly `count` blocks, in steps: places in `blocks`, longest first; the
        stack with the longest block comes first.
        """
        return self._search(target, count, len(self.values))

    def _search(self, target: int, count: int, top: int) -> Iterator[tuple[int, ...]]:
        """Of blocks before `top` only."""
        if count == 1:
            for place in range(bisect_right(self.values, target) - 1, -1, -1):
                if self.values[place] != target:
                    return
                if place < top:
                    yield (place,)
        elif count == 2:
            packed, width = self._pairs.get(target, b""), _PLACE_BYTES
            for at in range(0, len(packed), 2 * width):
                longer = int.from_bytes(packed[at : at + width], "big")
                if longer < top:
                    yield longer, int.from_bytes(packed[at + width : at + 2 * width], "big")
        else:
            rest = count - 1
            for place in range(min(top, bisect_right(self.values, target)) - 1, rest - 1, -1):
                longest = self._below[place + 1] - self._below[place - rest]
                if longest < target:
                    return
                value = self.values[place]
                for found in self._search(target - value, rest, place):
                    yield (place, *found)


def alternatives(bench: Bench, target_mm: Decimal, most: int) -> list[tuple[Block, ...]]:
    """Up to `most` stacks of that size, fewest blocks first; empty if there is none of up to five.

    Among as many blocks those with the longest block come first.
    """
    target = in_steps(target_mm)
    found: list[tuple[Block, ...]] = []
    for count in range(1, MOST_BLOCKS + 1):
        places = islice(bench.stacks(target, count), most - len(found))
        found += [tuple(bench.blocks[place] for place in stack) for stack in places]
        if len(found) >= most:
            break
    return found


def nearest(bench: Bench, target_mm: Decimal) -> tuple[Decimal | None, Decimal | None]:
    """The largest size under the target and the smallest over it that up to five blocks make.

    None where there is none on that side. All sums at once: bit n of a number says whether n steps
    can be made.
    """
    step = gcd(*bench.values)
    if not step:
        return None, None
    sums = [1, *[0] * MOST_BLOCKS]
    for value in bench.values:
        for count in range(MOST_BLOCKS, 0, -1):
            sums[count] |= sums[count - 1] << (value // step)
    made = 0
    for one in sums[1:]:
        made |= one
    target = in_steps(target_mm)
    under = made & ((1 << -(-target // step)) - 1)  # bits for sizes under the target
    over = made >> (target // step + 1)
    below = from_steps((under.bit_length() - 1) * step) if under else None
    first = (over & -over).bit_length() + target // step  # the lowest bit, moved back
    return below, from_steps(first * step) if over else None


class Together(msgspec.Struct, frozen=True):
    """Stacks of several sizes that share no block, in the order asked for; None if none was found.

    `is_proven`: None means that there are none at all. `needed_twice`: a block that every stack of
    two of the sizes needs.
    """

    stacks: tuple[tuple[Block, ...], ...] | None
    is_proven: bool = True
    needed_twice: Block | None = None


def together(bench: Bench, targets_mm: Sequence[Decimal]) -> Together:
    """One stack for each size, all at once from one set: the fewest blocks in all."""
    wanted = [_all_of(bench, in_steps(target)) for target in targets_mm]
    for place, one in enumerate(wanted):
        for other in wanted[:place]:
            twice = one.in_all & other.in_all
            if twice:
                return Together(None, needed_twice=bench.blocks[twice.bit_length() - 1])
    budget = [_MOST_TRIES]
    for counts in sorted(product(*[sorted(one.by_count) for one in wanted]), key=sum):
        lists = [one.by_count[count] for one, count in zip(wanted, counts, strict=True)]
        found = _disjoint(lists, 0, budget)
        if found is not None:
            return Together(tuple(tuple(bench.blocks[place] for place in stack) for stack in found))
        if budget[0] <= 0:
            return Together(None, is_proven=False)
    return Together(None, is_proven=all(one.is_whole for one in wanted))


_MOST_EACH = 3000
_MOST_TRIES = 300_000
"""Bounds of the search for stacks that share no block: it ends within a second or so."""


class _All(msgspec.Struct):
    """The stacks of one size by their number of blocks: places, and the same as bits of a number.

    `in_all`: the blocks, as bits, that stand in every one; `is_whole`: none had to be left out.
    """

    by_count: dict[int, list[tuple[int, tuple[int, ...]]]]
    in_all: int
    is_whole: bool = True


def _all_of(bench: Bench, target: int) -> _All:
    found = _All({}, (1 << len(bench.values)) - 1)
    for count in range(1, MOST_BLOCKS + 1):
        for places in bench.stacks(target, count):
            kept = found.by_count.setdefault(count, [])
            bits = sum(1 << place for place in places)
            found.in_all &= bits
            if len(kept) < _MOST_EACH:
                kept.append((bits, places))
                continue
            found.is_whole = False
            if not found.in_all:
                break
    return found


def _disjoint(
    lists: Sequence[list[tuple[int, tuple[int, ...]]]], used: int, budget: list[int]
) -> list[tuple[int, ...]] | None:
    """One of each list without a block in common; None if there is none or the budget is spent."""
    if not lists:
        return []
    for bits, places in lists[0]:
        budget[0] -= 1
        if budget[0] <= 0:
            return None
        if bits & used:
            continue
        rest = _disjoint(lists[1:], used | bits, budget)
        if rest is not None:
            return [places, *rest]
    return None
