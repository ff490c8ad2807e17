"""Mean and scatter of repeated values, exact until the last step. Pure.

Values may be decimals, fractions, whole numbers or floats; results are floats in their unit. Sums
are taken over whole numbers, so nothing is lost where values share most of their digits.
"""

import math
from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction

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


class Squares(msgspec.Struct, frozen=True):
    """Sum of the squared deviations from their own means, of one set of values or of several, in
    the square of their unit; degrees of freedom.
    """

    total: float
    dof: float


class ExactSquares(msgspec.Struct, frozen=True):
    """As `Squares`, as a fraction: what is compared exactly goes by it."""

    total: Fraction
    dof: Fraction

    def __add__(self, other: "ExactSquares") -> "ExactSquares":
        """Of both sets of values, each about its own mean."""
        return ExactSquares(self.total + other.total, self.dof + other.dof)

    @property
    def variance(self) -> Fraction:
        """Per degree of freedom; ValueError without one."""
        if not self.dof:
            raise ValueError("no degrees of freedom: nothing was measured twice")
        return self.total / self.dof

    @property
    def pooled(self) -> "Pooled":
        """The standard deviation, as a float."""
        return Pooled(math.sqrt(self.variance), float(self.dof))


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


def squares(values: Sequence[Real]) -> Squares:
    """Of one set of values, exact until the last step; no degrees of freedom in one value.

    Raises ValueError without a value.
    """
    if not values:
        raise ValueError("no values to take squares of")
    above, below = _ratio_of_squares(values)
    return Squares(above / below, len(values) - 1)


def exact_squares(values: Sequence[Real]) -> ExactSquares:
    """Of one set of values, as a fraction. ValueError without a value."""
    if not values:
        raise ValueError("no values to take squares of")
    return ExactSquares(Fraction(*_ratio_of_squares(values)), Fraction(len(values) - 1))


def exact_sd(sd: Decimal, dof: Decimal) -> ExactSquares:
    """The sum of squares that a stated standard deviation comes from."""
    return ExactSquares(Fraction(sd) ** 2 * Fraction(dof), Fraction(dof))


NO_SQUARES = ExactSquares(Fraction(0), Fraction(0))
"""Of nothing that was measured twice."""


def mean(values: Sequence[Real]) -> float:
    """Arithmetic mean, in the unit of the values. ValueError without a value."""
    return float(exact_mean(values))


def sd(values: Sequence[Real]) -> float:
    """Sample standard deviation (n - 1), in the unit of the values.

    That of one value: of their mean it is / sqrt(n). Raises ValueError for fewer than 2 values.
    """
    if len(values) < 2:
        raise ValueError(f"{len(values)} values; scatter takes 2 or more")
    above, below = _ratio_of_squares(values)
    return math.sqrt(above / (below * (len(values) - 1)))


def sample(values: Sequence[Real]) -> Sample:
    """Count, mean and sample standard deviation. ValueError for fewer than 2 values."""
    return Sample(len(values), mean(values), sd(values))


def pooled(parts: Iterable[tuple[float, float]]) -> Pooled:
    """One standard deviation from several, given as (standard deviation, degrees of freedom).

    Variances are averaged, weighted by their degrees of freedom; standard deviations never are.
    Raises ValueError for a negative number, or no degrees of freedom at all. Source: NIST/SEMATECH
    e-Handbook 2.4.4.
    """
    return pooled_squares(
        Squares(each * each * dof if each >= 0 else -1.0, dof) for each, dof in parts
    )


def pooled_squares(parts: Iterable[Squares]) -> Pooled:
    """As `pooled`, of sums of squares."""
    listed = list(parts)
    if not all(0 <= part.total < math.inf and 0 <= part.dof < math.inf for part in listed):
        raise ValueError("a spread or degrees of freedom below 0, or no finite number, cannot pool")
    found = together(listed)
    if not found.dof:
        raise ValueError("no degrees of freedom to pool: nothing was measured twice")
    return Pooled(math.sqrt(found.total / found.dof), found.dof)


def together(parts: Iterable[Squares]) -> Squares:
    """Of several sets of values, each about its own mean."""
    listed = list(parts)
    return Squares(math.fsum(part.total for part in listed), math.fsum(part.dof for part in listed))


def _ratio_of_squares(values: Sequence[Real]) -> tuple[int, int]:
    """Sum of squared deviations from the mean, as numerator and denominator. Exact."""
    numbers, denominator = whole(values)
    count, total = len(numbers), sum(numbers)
    above = count * sum(number * number for number in numbers) - total * total
    return above, count * denominator * denominator
