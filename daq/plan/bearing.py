"""Plain bearings around a journal: how much thicker an undersize shell is, and the oil clearance.

All lengths are exact mm on diameters; `wall` is the thickness of one half shell. Pure.
"""

from decimal import Decimal

import msgspec

from daq.lengths import EXACT, Length
from daq.plan.groups import GroupPlan

HALF = Decimal("0.5")


class Clearance(msgspec.Struct, frozen=True):
    """Diametral oil clearance in mm, from the tightest to the loosest that the figures allow."""

    smallest_mm: Decimal
    largest_mm: Decimal


def shell_growth_mm(by: Length) -> Decimal:
    """How much thicker the wall of a bearing of this undersize is than that of a standard one.

    Half of it: the undersize is on the diameter, and a bore has two walls. Source: geometry.
    """
    return EXACT.multiply(by.mm, HALF)


def clearance(
    group: GroupPlan, by: Length | None, smallest_mm: Decimal, largest_mm: Decimal
) -> Clearance | None:
    """Housing bore less two walls less the journal, for journals from `smallest_mm` to
    `largest_mm` in bearings that are `by` under standard (None: standard ones).

    None where the plan does not give both housing bore and shell wall. Source: geometry; the bore
    and the wall are the plan's, and the crush of the shells is left out.
    """
    if group.housing_bore is None or group.shell_wall is None:
        return None
    bore_low, bore_high = (length.mm for length in group.housing_bore)
    wall_low, wall_high = (EXACT.multiply(length.mm, Decimal(2)) for length in group.shell_wall)
    under = by.mm if by is not None else Decimal(0)

    def left(bore: Decimal, walls: Decimal, journal: Decimal) -> Decimal:
        return EXACT.subtract(EXACT.subtract(bore, EXACT.add(walls, under)), journal)

    return Clearance(left(bore_low, wall_high, largest_mm), left(bore_high, wall_low, smallest_mm))
