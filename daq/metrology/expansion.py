"""Lengths at 20 degrees Celsius (ISO 1): coefficients of expansion and the correction. Pure.

Coefficients are per kelvin, temperatures in degrees Celsius, lengths exact decimals in mm.
"""

import re
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

import msgspec

from daq.lengths import EXACT, plain, shortest
from daq.metrology.uncertainty.components import rectangular

REFERENCE_C = Decimal(20)
"""The temperature that sizes are stated at, exactly. Source: ISO 1."""

DEFAULT_SHARE = Decimal("0.1")
"""Half width of a coefficient stated without one, as a share of it. Tables give none and handbooks
differ by as much. Source: NIST Engineering Metrology Toolbox, temperature tutorial, slides 11, 12
(the share itself is chosen by us)."""

MOST_COEFFICIENT = Decimal("1e-4")
"""Over this a coefficient per kelvin was written in the wrong unit: the metals stay under 4e-5."""

STEP_DIGITS = 7
"""A corrected length is rounded, half to even, to 10**-7 mm = 0.1 nm. Chosen by us: a thousandth
of what a workshop gauge shows, and finer than any block is known."""

_STEPS = 10**STEP_DIGITS
_MILLIONTH = Decimal("1e-6")
_MATTERS = 10  # a tenth of the tolerance, the share that a gauge's error may have (common practice)
_COEFFICIENT = re.compile(
    r"([+-]?\d{1,6}(?:\.\d{1,9})?(?:[eE][+-]?\d{1,2})?) *(?:/ *(°?[CF]|K))?", re.ASCII
)
_EXAMPLE = 'write it like "11.5e-6 /K" or "6.4e-6 /F"'
_PER_KELVIN = {"F": Decimal("1.8")}  # an interval: 1 K is 9/5 of a Fahrenheit degree, no -32


class Coefficient(msgspec.Struct, frozen=True):
    """A coefficient of linear expansion per kelvin and its limits, `value` +- `half_width`.

    `source`: who states it. `valid`: lowest and highest degrees Celsius it is stated for, None
    where the source does not say.
    """

    value: Decimal
    half_width: Decimal
    source: str
    valid: tuple[Decimal, Decimal] | None = None

    @property
    def standard_uncertainty(self) -> float:
        """Per kelvin, of a rectangular distribution."""
        return rectangular(float(self.half_width))

    def __str__(self) -> str:
        return f"({_millionths(self.value)} +- {_millionths(self.half_width)})e-6 /K"


def _millionths(value: Decimal) -> str:
    return plain((value / _MILLIONTH).normalize())


def read_coefficient(text: str) -> Coefficient:
    """What `text` says, whatever its size. Per degree Fahrenheit is turned to per kelvin exactly,
    by 9/5. Raises ValueError with the reason for no unit, another unit and what is no number.
    """
    shown = text.strip()
    found = _COEFFICIENT.fullmatch(shown)
    if found is None:
        raise ValueError(f"{shown[:60]!r} is not a coefficient of expansion; {_EXAMPLE}")
    if found[2] is None:
        raise ValueError(f"{shown[:60]!r} has no unit; {_EXAMPLE}")
    value = EXACT.multiply(Decimal(found[1]), _PER_KELVIN.get(found[2][-1], Decimal(1)))
    return Coefficient(value, EXACT.multiply(value, DEFAULT_SHARE), "as stated")


def check_coefficient(found: Coefficient, text: str) -> None:
    """Refuse one that no material has, written as `text`; raises ValueError with the reason."""
    shown = text.strip()[:60]
    if found.value <= 0:
        raise ValueError(
            f"{shown!r} is not over zero; a warmer part is larger, and so is its coefficient"
        )
    if found.value > MOST_COEFFICIENT:
        raise ValueError(
            f"{shown!r} is over {MOST_COEFFICIENT} /K, more than any metal; the millionths "
            f"are missing? {_EXAMPLE}"
        )


def _material(
    millionths: str, source: str, valid: tuple[int, int] | None = None, half_width: str = ""
) -> Coefficient:
    value = Decimal(millionths).scaleb(-6)
    limits = Decimal(half_width).scaleb(-6) if half_width else value * DEFAULT_SHARE
    span = None if valid is None else (Decimal(valid[0]), Decimal(valid[1]))
    return Coefficient(value, limits, source, span)


_HANDBOOK = "handbook table, seen second-hand"
_SWYT = "D. A. Swyt, J. Res. NIST 99 (1994) 31, introduction"

MATERIALS = {
    "steel": _material("11.5", _SWYT),
    "gauge-block-steel": _material("11.5", "ISO 3650:1998, 6.2.2 (from memory)", (10, 30), "1.0"),
    "steel-1040": _material("11.2", f"AISI 1040 annealed, {_HANDBOOK}", (0, 100)),
    "steel-1045": _material("11.6", f"AISI 1045 annealed, {_HANDBOOK}", (0, 100)),
    "steel-1050": _material(
        "11.5", "AISI 1050, NIST Engineering Metrology Toolbox, temperature tutorial", (20, 100)
    ),
    "steel-4140": _material("12.3", f"AISI 4140 oil hardened, {_HANDBOOK}", (0, 100)),
    "steel-4340": _material("12.3", f"AISI 4340 hardened and tempered, {_HANDBOOK}", (20, 100)),
    "forged-steel": _material("11.65", "middle of 11 to 12.3, handbooks (from memory)"),
    "cast-iron": _material("10.008", "Dooley, Applied Science for Metal Workers, 109: 5.56e-6 /F"),
    "grey-cast-iron": _material("10.65", "middle of 10.5 to 10.8, handbooks (from memory)"),
    "ductile-iron": _material("11.5", "middle of 11 to 12, handbooks (from memory)"),
    "aluminium": _material("23.1", _SWYT),
}
"""Coefficients by the name a plan uses; limits are 10 % where the source states none."""


def check_range(coefficient: Coefficient, celsius: Decimal) -> str | None:
    """A warning where the coefficient is stated for other temperatures; None where it is not."""
    if coefficient.valid is None:
        return None
    low, high = coefficient.valid
    if low <= celsius <= high:
        return None
    return (
        f"the coefficient {coefficient} is stated for {low} to {high} °C, not for "
        f"{plain(celsius)} °C ({coefficient.source})"
    )


def factor(
    *, part_c: Decimal, part: Coefficient, reference_c: Decimal, reference: Coefficient
) -> Fraction:
    """What a length as read is multiplied by to be that at 20 degrees Celsius, exactly.

    (1 + a_i (T_i - 20)) / (1 + a_p (T_p - 20)); i is what fixed the size the gauge shows (the
    stack it was proven on), p the part. Source: derived from L = L20 (1 + a (T - 20)) for both.
    """
    return Fraction(*_ratio(part_c, part.value, reference_c, reference.value))


@lru_cache(maxsize=256)
def _ratio(part_c: Decimal, part: Decimal, ref_c: Decimal, ref: Decimal) -> tuple[int, int]:
    found = _growth(ref_c, ref) / _growth(part_c, part)
    return found.numerator, found.denominator


def _growth(celsius: Decimal, coefficient: Decimal) -> Fraction:
    grown = 1 + Fraction(coefficient) * Fraction(EXACT.subtract(celsius, REFERENCE_C))
    if grown <= 0:
        raise ValueError(f"{plain(celsius)} °C is no temperature of a part")
    return grown


def at_reference(
    mm: Decimal,
    *,
    part_c: Decimal,
    part: Coefficient,
    reference_c: Decimal,
    reference: Coefficient,
) -> Decimal:
    """A length as read, in mm, at 20 degrees Celsius; see `factor`.

    Rounded once, half to even, to 0.1 nm. The same digits come back where the factor is exactly
    1: part and reference of one material and temperature need no correction.
    """
    above, below = _ratio(part_c, part.value, reference_c, reference.value)
    if above == below:
        return mm
    numerator, denominator = mm.as_integer_ratio()
    over = denominator * below
    steps, rest = divmod(numerator * above * _STEPS, over)
    if 2 * rest > over or (2 * rest == over and steps % 2):
        steps += 1
    return EXACT.scaleb(Decimal(steps), -STEP_DIGITS)


def difference_words(
    size_mm: Decimal,
    *,
    part_c: Decimal | None,
    part: Coefficient,
    reference_c: Decimal | None,
    reference: Coefficient,
    tolerance_mm: Decimal | None,
    reference_name: str = "stack",
) -> str | None:
    """The warning that temperature matters: its effect on `size_mm` is over 1/10 of the tolerance.

    Where a temperature is not known, the effect of 1 °C between the two is judged instead. None
    where it does not matter or there is no tolerance.
    """
    if tolerance_mm is None:
        return None
    if part_c is None or reference_c is None:
        effect = Fraction(size_mm) * Fraction(part.value)
        cause = f"1 °C between part and {reference_name}, not both known,"
    else:
        ratio = factor(part_c=part_c, part=part, reference_c=reference_c, reference=reference)
        effect = abs(Fraction(size_mm) * (ratio - 1))
        apart = abs(EXACT.subtract(part_c, reference_c))
        if apart:
            cause = f"{shortest(apart)} °C between part and {reference_name}"
        else:
            cause = (
                f"{shortest(part_c)} °C with unlike coefficients, part {part} and "
                f"{reference_name} {reference},"
            )
    if effect * _MATTERS <= Fraction(tolerance_mm):
        return None
    um = float(effect * 1000)
    return (
        f"{cause} is {um:.1f} um on {shortest(size_mm)} mm, over a tenth of the tolerance "
        f"{plain(tolerance_mm)} mm"
    )


__all__ = [
    "DEFAULT_SHARE",
    "MATERIALS",
    "MOST_COEFFICIENT",
    "REFERENCE_C",
    "STEP_DIGITS",
    "Coefficient",
    "at_reference",
    "check_coefficient",
    "check_range",
    "difference_words",
    "factor",
    "read_coefficient",
]
