"""Lengths as a person reads them, in mm, in inches or in both. Pure.

What decides is never what is shown: verdicts come from exact millimetres. What is shown is rounded
to 0.0001 mm or 0.00001 in (0.25 um), half to even, and then kept honest:

- a limit in the unit that it was stated in stands as it was stated; in another unit it is rounded
  inward (a low limit up, a high limit down) and marked;
- a value never crosses a limit by rounding: one that is under its low limit is shown under the
  limit as shown, one that is not is shown not under it; at a high limit likewise. So a value may be
  shown up to one step beside its nearest one, always towards the side that it truly lies on;
- a difference that is not zero is never shown as zero.
"""

from collections.abc import Sequence
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

import msgspec

from daq.lengths import EXACT, MM_PER, Length, inward
from drivers.reading import plain

SHOWN_STEPS = {"mm": Decimal("0.0001"), "in": Decimal("0.00001")}
"""What is shown of a computed length, by unit. Chosen by us: under a tenth of what a hand gauge
tells apart."""

CONVERTED = "~"
"""Stands before a length in a unit that it was not stated in."""


class ShownIn(StrEnum):
    """The unit that lengths are read in: the words of `--show`."""

    MM = "mm"
    INCH = "inch"
    BOTH = "both"


class ShownLimit(msgspec.Struct, frozen=True):
    """A limit as it is shown, `value` in `unit`; `mm` is the limit itself."""

    mm: Decimal
    value: Decimal
    unit: str
    is_low: bool
    is_converted: bool = False

    def __str__(self) -> str:
        return f"{CONVERTED if self.is_converted else ''}{plain(self.value)}"


def stated_unit(limit: Length) -> str:
    """The unit that a plan's limit is read in: as it is printed there, micrometres as mm."""
    return "in" if limit.unit == "in" else "mm"


def units_shown(show: ShownIn | None, stated: str) -> tuple[str, ...]:
    """The units to show, the plan's own (`stated`, mm or in) first; that one alone by default."""
    match show:
        case None:
            return (stated,)
        case ShownIn.MM:
            return ("mm",)
        case ShownIn.INCH:
            return ("in",)
        case ShownIn.BOTH:
            return (stated, "mm" if stated == "in" else "in")


def shown_limit(limit: Length, unit: str, *, is_low: bool) -> ShownLimit:
    """A limit in `unit` (mm or in); converted it is rounded inward."""
    if limit.unit == unit:
        return ShownLimit(limit.mm, limit.value, unit, is_low)
    value, was_rounded = inward(limit.mm, unit, SHOWN_STEPS[unit], is_low=is_low)
    is_converted = unit != stated_unit(limit) or was_rounded
    return ShownLimit(limit.mm, value, unit, is_low, is_converted)


def shown_size(mm: Fraction, unit: str, limits: Sequence[ShownLimit] = ()) -> Decimal:
    """A size in `unit`, on the true side of each of these limits, which are in that unit too."""
    step = SHOWN_STEPS[unit]
    steps = mm / Fraction(MM_PER[unit]) / Fraction(step)
    value = _times(round(steps), step)  # half to even
    for limit in limits:
        own = Fraction(limit.mm)
        if limit.is_low:
            value = max(value, limit.value) if mm >= own else min(value, _beyond(limit, step))
        else:
            value = min(value, limit.value) if mm <= own else max(value, _beyond(limit, step))
    return value


def shown_difference(mm: Fraction, unit: str) -> Decimal:
    """A difference of lengths in `unit`; one step at least if it is not zero."""
    step = SHOWN_STEPS[unit]
    steps = round(mm / Fraction(MM_PER[unit]) / Fraction(step))
    if not steps and mm:
        steps = 1 if mm > 0 else -1
    return _times(steps, step)


def _beyond(limit: ShownLimit, step: Decimal) -> Decimal:
    """The nearest value on the grid of `step` that lies outside a limit as shown."""
    steps = Fraction(limit.value) / Fraction(step)
    if limit.is_low:
        return _times(-(-steps.numerator // steps.denominator) - 1, step)
    return _times(steps.numerator // steps.denominator + 1, step)


def _times(count: int, step: Decimal) -> Decimal:
    return EXACT.multiply(Decimal(count), step)


__all__ = [
    "CONVERTED",
    "SHOWN_STEPS",
    "ShownIn",
    "ShownLimit",
    "shown_difference",
    "shown_limit",
    "shown_size",
    "stated_unit",
    "units_shown",
]
