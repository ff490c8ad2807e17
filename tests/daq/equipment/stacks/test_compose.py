"""Stacks: published ones, the fewest blocks, and sizes that no stack makes."""

from collections.abc import Sequence
from decimal import Decimal
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.equipment.stacks.block import Block
from daq.equipment.stacks.compose import Bench, alternatives, in_steps, nearest, together
from daq.equipment.stacks.set_file import parse_block_set
from daq.lengths import MM_PER, Length, plain
from daq.services.home import SHIPPED_SETS


def bench(name: str) -> Bench:
    text = (SHIPPED_SETS / f"{name}.toml").read_text(encoding="utf-8")
    return Bench(parse_block_set(text, name, name).blocks)


def values(stack: Sequence[Block]) -> list[Decimal]:
    return sorted(one.nominal.value for one in stack)


def decimals(text: str) -> list[Decimal]:
    return sorted(map(Decimal, text.split()))


def all_of(name: str, size: str, unit: str, count: int) -> list[list[Decimal]]:
    """Every stack of that size with exactly so many blocks."""
    found = bench(name)
    target = in_steps(Decimal(size) * MM_PER[unit])
    return [
        values([found.blocks[place] for place in places]) for places in found.stacks(target, count)
    ]


def fewest(name: str, size: str, unit: str) -> int:
    return next(count for count in range(1, 6) if all_of(name, size, unit, count))


# The published stacks: NPL, FAQ - Length, "How do I select gauge blocks", updated 25 Mar 2010; and
# pages of use and care. That they are the only ones of so few blocks is derived by full search.
@pytest.mark.parametrize(
    ("name", "unit", "size", "stack"),
    [
        ("M47", "mm", "58.345", "1.005 1.04 1.30 5 50"),  # NPL's stack
        ("M112", "mm", "58.345", "1.005 1.34 6 50"),  # derived
        ("inch-81", "in", "3.9762", ".1002 .126 .750 3.000"),  # published
        ("M46", "mm", "37.785", "1.005 1.08 1.7 4 30"),  # published
        ("M87", "mm", "37.385", "1.005 1.38 5.0 30.0"),  # published
        ("inch-81", "in", "2.7485", ".1005 .148 .5 2"),  # derived
        ("inch-81", "in", "2.4997", ".1007 .149 .25 2"),  # derived
        ("M88", "mm", "56.9945", "1.0005 1.004 1.49 3.5 50"),  # derived
    ],
)
def test_the_only_stack_of_the_fewest_blocks(name: str, unit: str, size: str, stack: str) -> None:
    wanted = decimals(stack)
    assert fewest(name, size, unit) == len(wanted)
    assert all_of(name, size, unit, len(wanted)) == [wanted]


def test_a_published_stack_of_more_blocks_than_needed_is_still_one() -> None:
    # NPL prints five blocks for an "M112"; its 1.30 and 1.04 are in the set
    assert decimals("1.005 1.04 1.30 5 50") in all_of("M112", "58.345", "mm", 5)


def test_other_fewest_stacks_by_full_search() -> None:
    assert decimals("1.005 1.28 5.5 30") in all_of("M88", "37.785", "mm", 4)  # derived
    assert fewest("M88", "37.785", "mm") == 4
    assert len(all_of("M112", "37.385", "mm", 4)) == 15  # derived
    assert all_of("M88", "2.0005", "mm", 2) == [decimals("1.0005 1.0")]  # derived


@pytest.mark.parametrize("size", ["0.75", "1.0015", "63.4746"])
def test_what_no_stack_makes_is_never_answered_with_the_nearest(size: str) -> None:
    # derived by full search to five blocks; by size or last digit beyond that
    assert alternatives(bench("M88"), Decimal(size), 10) == []


@pytest.mark.parametrize(
    ("size", "below", "above"),
    [
        ("0.75", "0.5", "1"),  # 0.5 and 1 are the two shortest: nothing lies between
        ("1.0015", "1.001", "1.002"),  # both are blocks; two blocks are 1.5 at least
        ("63.4746", "63.4745", "63.475"),  # the steps of the set are 0.0005
        ("0.4", None, "0.5"),
        # the five longest: 100 + 90 + 80 + 70 + 60
        ("1000", "400", None),
    ],
)
def test_the_nearest_sizes_on_both_sides(size: str, below: str | None, above: str | None) -> None:
    found = nearest(bench("M88"), Decimal(size))
    assert found == (below and Decimal(below), above and Decimal(above))


def test_a_block_is_used_once() -> None:
    # 2 mm from a single 1 mm block, or 3 from 1 and 2 twice over
    few = Bench([Block(Length(Decimal(n), "mm")) for n in (1, 3)])
    assert alternatives(few, Decimal(2), 5) == []
    assert alternatives(few, Decimal(6), 5) == []


def test_sums_are_exact_where_binary_floats_leave_a_rest() -> None:
    assert 0.1 + 0.2 != 0.3  # the trap: a remainder of 0.29999 that no block clears
    few = Bench([Block(Length(Decimal(text), "in")) for text in ("0.1", "0.2", "0.1001")])
    assert [values(one) for one in alternatives(few, Decimal("0.3") * MM_PER["in"], 5)] == [
        decimals("0.1 0.2")
    ]


def test_fewest_blocks_come_first_and_no_stack_twice() -> None:
    found = alternatives(bench("M112"), Decimal("57.982"), 40)
    assert len(found) == 40
    assert [len(one) for one in found] == sorted(len(one) for one in found)
    assert len({tuple(values(one)) for one in found}) == 40
    assert all(sum(values(one)) == Decimal("57.982") for one in found)


SMALL_SETS = st.lists(st.integers(1, 40), min_size=1, max_size=9, unique=True)


@given(SMALL_SETS, st.integers(1, 120))
def test_the_search_finds_what_trying_all_finds(lengths: list[int], target: int) -> None:
    few = Bench([Block(Length(Decimal(n), "mm")) for n in lengths])
    for count in range(1, 6):
        found = {
            tuple(int(few.blocks[place].nominal.value) for place in sorted(places))
            for places in few.stacks(in_steps(Decimal(target)), count)
        }
        wanted = {c for c in combinations(sorted(lengths), count) if sum(c) == target}
        assert found == wanted


@given(SMALL_SETS, st.integers(1, 200))
def test_the_nearest_are_what_trying_all_finds(lengths: list[int], target: int) -> None:
    few = Bench([Block(Length(Decimal(n), "mm")) for n in lengths])
    sums = {sum(c) for count in range(1, 6) for c in combinations(lengths, count)}
    below = max((one for one in sums if one < target), default=None)
    above = min((one for one in sums if one > target), default=None)
    assert nearest(few, Decimal(target)) == (below, above)


def test_several_stacks_share_no_block() -> None:
    found = together(bench("M88"), [Decimal("59.97"), Decimal("59.99"), Decimal("60.01")])
    assert found.stacks is not None
    used = [value for stack in found.stacks for value in values(stack)]
    assert len(used) == len(set(used))
    assert [sum(values(one)) for one in found.stacks] == decimals("59.97 59.99 60.01")


def test_two_sizes_that_need_the_same_block_are_told_so() -> None:
    # only 1.0005 has a digit in the fourth place
    found = together(bench("M112"), [Decimal("50.0005"), Decimal("50.0015")])
    assert (found.stacks, found.is_proven) == (None, True)
    assert found.needed_twice is not None
    assert plain(found.needed_twice.nominal.value) == "1.0005"


@given(SMALL_SETS, st.integers(1, 60), st.integers(1, 60))
def test_two_at_once_are_found_where_trying_all_finds_them(
    lengths: list[int], one: int, other: int
) -> None:
    few = Bench([Block(Length(Decimal(n), "mm")) for n in lengths])
    every = [set(c) for count in range(1, 6) for c in combinations(lengths, count)]
    counts = [
        len(first) + len(second)
        for first in every
        if sum(first) == one
        for second in every
        if sum(second) == other and first.isdisjoint(second)
    ]
    found = together(few, [Decimal(one), Decimal(other)])
    assert found.is_proven
    assert (found.stacks and sum(map(len, found.stacks))) == min(counts, default=None)
