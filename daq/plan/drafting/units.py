"""A length and the same in the other unit, for people who hold both against the manual. Pure."""

from decimal import Decimal
from fractions import Fraction

from daq.lengths import EXACT, MM_PER, Length, plain

_INCH_DIGITS, _SMALL_DIGITS = 5, 6
"""A step of 0.001 mm is 0.000 039 in: five decimals keep what three decimals of mm carry; a limit
of form under a millimetre has one more.
"""


def in_other(length: Length) -> tuple[str, str, bool]:
    """The same in the other unit, digits and unit: inches in mm exactly, mm in inches rounded half
    to even. Whether that is all of it.
    """
    if length.unit == "in":
        mm = length.mm.normalize(EXACT)
        return plain(mm), "mm", True
    digits = _SMALL_DIGITS if length.mm < 1 else _INCH_DIGITS
    scaled = Fraction(length.mm) / Fraction(MM_PER["in"]) * 10**digits
    shown = plain(EXACT.scaleb(Decimal(round(scaled)), -digits))
    return shown, "in", scaled.denominator == 1


def other_text(length: Length) -> str:
    """The same in the other unit, with ≈ before it where it is rounded."""
    shown, unit, is_exact = in_other(length)
    return f"{'' if is_exact else '≈ '}{shown} {unit}"


def band_text(low: Length, high: Length | None) -> str:
    """A band as stated: `59.970 to 59.990 mm`."""
    if high is None:
        return f"from {low}"
    if low.unit != high.unit:
        return f"{low} to {high}"
    return f"{plain(low.value)} to {high}"


def other_band_text(low: Length, high: Length | None) -> str:
    """The same band in the other unit."""
    if high is None:
        return f"from {other_text(low)}"
    if low.unit != high.unit:
        return f"{other_text(low)} to {other_text(high)}"
    (one, _, is_exact), (other, unit, is_other_exact) = in_other(low), in_other(high)
    return f"{'' if is_exact and is_other_exact else '≈ '}{one} to {other} {unit}"


def with_other(words: str, other: str) -> str:
    """`59.970 mm ≈ 2.36102 in`, or with = where that is exact."""
    return f"{words} {other}" if other.startswith("≈") else f"{words} = {other}"
