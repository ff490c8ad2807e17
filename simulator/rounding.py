"""What a display does to a size: the nearest whole number of its steps."""

from __future__ import annotations

from decimal import Decimal


def to_step(value: float | Decimal, step: Decimal) -> Decimal:
    """The multiple of step nearest to value, with exactly the decimals step is written with.

    value and step are in the same unit; ties go away from zero; zero is never negative. A float
    stands for the shortest decimal that names it, so that 59.9705 is a tie and not a hair less.
    Raises ValueError for a step not above zero, or a value or step that is not finite.
    """
    size = value if isinstance(value, Decimal) else Decimal(repr(value))
    if not size.is_finite() or not step.is_finite() or step <= 0:
        raise ValueError(f"cannot show {value} in steps of {step}")
    # Whole-number arithmetic throughout: a decimal context could round behind our back.
    top, bottom = size.as_integer_ratio()
    step_top, step_bottom = step.as_integer_ratio()
    numerator = abs(top) * step_bottom
    denominator = bottom * step_top
    steps = (2 * numerator + denominator) // (2 * denominator)
    written = step.as_tuple()
    count = steps * int("".join(map(str, written.digits)))
    exponent = int(written.exponent)
    if exponent > 0:
        # A step written 1E+1 has no decimals; its digits are whole tens.
        count, exponent = count * 10**exponent, 0
    sign = 1 if top < 0 and count else 0
    return Decimal((sign, tuple(map(int, str(count))), exponent))
