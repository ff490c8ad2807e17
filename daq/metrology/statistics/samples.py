"""Mean and scatter of repeated values, exact until the last step. Pure.

Values may be decimals, fractions, whole numbers or floats; results are floats in their unit. Sums
are taken over whole numbers, so nothing is lost where values share most of their digits.
"""

import math
from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import msgspec

Real = int | float | Decimal | Fraction


class Sample(msgspec.Struct, frozen=True):
    """What tests need of repeated values: how many, their mean, their sample sd (n - 1)."""

    count: int
    mean: float
    sd: float

    def __post_init__(self) -> None:
        if self.count < 2 or not (math.isfinite(self.mean) and 0 <= self.sd < math.inf):
            raise ValueError(
                f"a sample of {self.count} values with mean {self.mean} and standard deviation "
                f"{self.sd}; it takes 2 or more values and finite numbers"
            )


class Pooled(msgspec.Struct, frozen=True):
    """A standard deviation from several sets of values, and its degrees of freedom."""

    sd: float
    dof: float


def whole(values: Iterable[Real]) -> tuple[list[int], int]:
    """Numerators of the values over one common denominator, and that. Exact.

    Raises ValueError for what is no finite number.
    """
    try:
        ratios = [value.as_integer_ratio() for value in values]
    except (ValueError, OverflowError) as error:
        raise ValueError(f"a value that is no finite number ({error})") from None
    denominator = math.lcm(*(below for _, below in ratios))
    return [above * (denominator // below) for above, below in ratios], denominator


def exact_mean(values: Sequence[Real]) -> Fraction:
    """Arithmetic mean as a fraction. ValueError without a value."""
    if not values:
        raise ValueError("no values to take a mean of")
    numbers, denominator = whole(values)
    return Fraction(sum(numbers), denominator * len(numbers))


def squares(values: Sequence[Real]) -> Fraction:
    """Sum of the squared deviations from the mean, as a fraction; 0 for one value."""
    numbers, denominator = whole(values)
    count, total = len(numbers), sum(numbers)
    above = count * sum(number * number for number in numbers) - total * total
    return Fraction(above, max(count, 1) * denominator * denominator)


def mean(values: Sequence[Real]) -> float:
    """Arithmetic mean, in the unit of the values. ValueError without a value."""
    return float(exact_mean(values))


def variance(values: Sequence[Real]) -> float:
    """Sample variance, divided by n - 1, in the unit of the values squared.

    Raises ValueError for fewer than 2 values.
    """
    return float(_variance(values))


def sd(values: Sequence[Real]) -> float:
    """Sample standard deviation (n - 1), in the unit of the values.

    That of one value: of their mean it is / sqrt(n). Raises ValueError for fewer than 2 values.
    """
    return math.sqrt(_variance(values))


def sample(values: Sequence[Real]) -> Sample:
    """Count, mean and sample standard deviation. ValueError for fewer than 2 values."""
    return Sample(len(values), mean(values), sd(values))


def pooled(parts: Iterable[tuple[float, float]]) -> Pooled:
    """One standard deviation from several, given as (standard deviation, degrees of freedom).

    Variances are averaged, weighted by their degrees of freedom; standard deviations never are.
    Raises ValueError for a negative number, or no degrees of freedom at all. Source: NIST/SEMATECH
    e-Handbook 2.4.4.
    """
    return pooled_squares((each * each * dof if each >= 0 else -1.0, dof) for each, dof in parts)


def pooled_squares(parts: Iterable[tuple[float, float]]) -> Pooled:
    """As `pooled`, of (sum of squared deviations, degrees of freedom)."""
    listed = list(parts)
    if not all(0 <= square < math.inf and 0 <= dof < math.inf for square, dof in listed):
        raise ValueError("a spread or degrees of freedom below 0, or no finite number, cannot pool")
    dof = math.fsum(dof for _, dof in listed)
    if not dof:
        raise ValueError("no degrees of freedom to pool: nothing was measured twice")
    return Pooled(math.sqrt(math.fsum(square for square, _ in listed) / dof), dof)


def lag1(values: Sequence[Real]) -> float:
    """Autocorrelation of neighbours, -1 to 1: near 0 if each value knows nothing of the one before.

    Raises ValueError for fewer than 2 values or values all alike. Source: NIST/SEMATECH e-Handbook
    1.3.5.12.
    """
    if len(values) < 2:
        raise ValueError(f"{len(values)} values; neighbours take 2 or more")
    numbers, _ = whole(values)
    # Multiplied by n, so that deviations from the mean stay whole.
    total = sum(numbers)
    off = [number * len(numbers) - total for number in numbers]
    below = sum(each * each for each in off)
    if not below:
        raise ValueError("all values are alike: nothing to correlate")
    return float(Fraction(sum(a * b for a, b in pairwise(off)), below))


def _variance(values: Sequence[Real]) -> Fraction:
    if len(values) < 2:
        raise ValueError(f"{len(values)} values; scatter takes 2 or more")
    return squares(values) / (len(values) - 1)
