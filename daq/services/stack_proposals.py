"""Which stacks a plan needs: near the low limits, where a worn journal is decided. Pure."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.equipment.stacks.making import Maker, away_um
from daq.equipment.stacks.stack import Stack
from daq.lengths import EXACT, Length
from daq.plan.plan import JournalPlan, Plan


class Proposal(msgspec.Struct, frozen=True):
    """A stack for some journals of one group. `wanted` is the low limit it should have; `stack` the
    one that can be made, None if there is none within check.near; `planned` what the plan says now,
    if anything.

    `farthest_mm`: how far the low limits of the journals lie from the stack at most.
    """

    group: str
    journals: tuple[str, ...]
    wanted: Length
    stack: Stack | None
    planned: str | None
    farthest_mm: Decimal

    @property
    def away_um(self) -> Fraction:
        """Stack less wanted, in um; 0 without a stack."""
        return Fraction(0) if self.stack is None else away_um(self.wanted, self.stack.nominal)


def proposals(plan: Plan, maker_for: Callable[[str], Maker]) -> list[Proposal]:
    """The stacks that prove the gauge for every journal, group by group in the order of the file.

    Journals of one group share a stack as long as it lies within check.near of all their low
    limits; else the group needs more than one. `maker_for` gives the maker for a unit.
    """
    found = []
    for group in dict.fromkeys(journal.group for journal in plan.journals):
        members = [journal for journal in plan.journals if journal.group == group]
        for cluster in _clusters(members, plan.check.near.mm):
            wanted = _middle(cluster)
            stack = _nearest(maker_for(wanted.unit), wanted, plan.check.near.mm)
            size = wanted if stack is None else stack.nominal
            found.append(
                Proposal(
                    group=group,
                    journals=tuple(journal.name for journal in cluster),
                    wanted=wanted,
                    stack=stack,
                    planned=cluster[0].group_stack or plan.check.stack,
                    farthest_mm=max(_apart(size, journal.limits.low) for journal in cluster),
                )
            )
    return found


def _clusters(journals: Sequence[JournalPlan], near_mm: Decimal) -> list[list[JournalPlan]]:
    """As few as can be: in each, one low limit lies within `near_mm` of all the others."""
    left = sorted(journals, key=lambda journal: journal.limits.low.mm)
    found = []
    while left:
        lowest = left[0].limits.low
        middle = max(
            (j.limits.low for j in left if _apart(j.limits.low, lowest) <= near_mm),
            key=lambda low: low.mm,
        )
        inside = [j for j in left if j.limits.low.mm <= EXACT.add(middle.mm, near_mm)]
        found.append([j for j in journals if j in inside])
        left = left[len(inside) :]
    return found


def _middle(journals: Sequence[JournalPlan]) -> Length:
    """The low limit that lies nearest to the farthest of the others; the lower of two alike."""
    lows = [journal.limits.low for journal in journals]
    return min(lows, key=lambda low: (max(_apart(low, other) for other in lows), low.mm))


def _nearest(maker: Maker, wanted: Length, near_mm: Decimal) -> Stack | None:
    """The stack of that size, else the nearest within `near_mm`."""
    exact = maker.stacks(wanted, 1)
    if exact:
        return exact[0]
    near = [s for s in maker.none(wanted).nearest if _apart(wanted, s.nominal) <= near_mm]
    return min(near, key=lambda stack: abs(away_um(wanted, stack.nominal)), default=None)


def _apart(one: Length, other: Length) -> Decimal:
    return EXACT.subtract(one.mm, other.mm).copy_abs()
