"""A length and the same in the other unit, for people who hold both against the manual. Pure."""

from decimal import Decimal
from fractions import Fraction

from daq.lengths import EXACT, MM_PER, Length, plain

_INCH_DIGITS = 5
"""A step of 0.001 mm is 0.000 039 in: five decimals keep what three decimals of mm carry."""


def other_of(length: Length) -> tuple[str, str]:
    """The same in the other unit, digits and unit: inches in mm exactly, mm in inches to five
    decimals, with … behind them where those are not all.
    """
    if length.unit == "in":
        mm = length.mm.normalize(EXACT)
        return plain(mm if mm.as_tuple().exponent != 0 else mm.quantize(Decimal("0.1"))), "mm"
    inches = Fraction(length.mm) / Fraction(MM_PER["in"])
    scaled = inches * 10**_INCH_DIGITS
    digits = plain(EXACT.scaleb(Decimal(round(scaled)), -_INCH_DIGITS))
    return digits + ("" if scaled.denominator == 1 else "…"), "in"


def both(low: Length, high: Length | None) -> tuple[str, str]:
    """A band as stated, and in the other unit: `59.970 to 59.990 mm`, `2.36102… to 2.36181… in`."""
    other_low, other_unit = other_of(low)
    if high is None:
        return f"from {low}", f"from {other_low} {other_unit}"
    other_high, _ = other_of(high)
    if low.unit != high.unit:
        return f"{low} to {high}", f"{' '.join(other_of(low))} to {' '.join(other_of(high))}"
    return (
        f"{plain(low.value)} to {plain(high.value)} {low.unit}",
        f"{other_low} to {other_high} {other_unit}",
    )
