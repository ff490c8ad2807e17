"""A least-squares line with its uncertainties and their covariance. Pure.

x and y as in `samples`; what comes out are floats in their units. Sums are exact, so a far-off
origin of x costs no digits.
"""

import math
from collections.abc import Sequence
from fractions import Fraction

import msgspec

from daq.metrology.statistics.samples import Real, whole

LEAST_POINTS = 3
"""Two lie on a line whatever they are, and say nothing of scatter."""


class FittedLine(msgspec.Struct, frozen=True):
    """y = intercept + slope * x; `s` is the residual standard deviation with `dof` = n - 2.

    u_... are standard uncertainties from that scatter alone; `r_squared` is None for equal y.
    `x_mean` and `x_squares`, the sum of (x - x_mean)^2, say where the points lay.
    """

    count: int
    intercept: float
    slope: float
    u_intercept: float
    u_slope: float
    covariance: float
    s: float
    r_squared: float | None
    x_mean: float
    x_squares: float
    y_mean: float

    @property
    def dof(self) -> int:
        """Degrees of freedom of the scatter about the line."""
        return self.count - 2

    def predict(self, x: float, s: float | None = None) -> tuple[float, float]:
        """The line at x and its standard uncertainty, covariance included; `s`: scatter about the
        line, where it is known to be another than the points show.

        The line's, not that of one more observation. The covariance never drops out: without it u
        is wrong by as much as 76 % in the GUM's own example. Source: JCGM 100:2008, H.3.4 (from
        memory), written about the mean of x, where nothing cancels.
        """
        off = x - self.x_mean
        u = (self.s if s is None else s) * math.sqrt(1 / self.count + off * off / self.x_squares)
        return self.y_mean + self.slope * off, u


def fit(xs: Sequence[Real], ys: Sequence[Real]) -> FittedLine:
    """The line through points of equal weight, all error in y.

    Raises ValueError for fewer than LEAST_POINTS, lists of different length, or one x only.
    """
    count = len(xs)
    if count != len(ys):
        raise ValueError(f"{count} x and {len(ys)} y; each point has one of both")
    if count < LEAST_POINTS:
        raise ValueError(f"{count} points; a line with scatter takes {LEAST_POINTS} or more")
    x, x_unit = whole(xs)
    y, y_unit = whole(ys)
    x_sum, y_sum = sum(x), sum(y)
    # n times the sums of squares and of products about the means: whole numbers.
    xx = count * sum(a * a for a in x) - x_sum * x_sum
    yy = count * sum(b * b for b in y) - y_sum * y_sum
    xy = count * sum(a * b for a, b in zip(x, y, strict=True)) - x_sum * y_sum
    if not xx:
        raise ValueError("every point has the same x; no line can be told")
    slope = Fraction(xy * x_unit, xx * y_unit)
    x_mean, y_mean = Fraction(x_sum, count * x_unit), Fraction(y_sum, count * y_unit)
    residual = Fraction(yy * xx - xy * xy, xx * count * y_unit * y_unit * (count - 2))
    x_squares = Fraction(xx, count * x_unit * x_unit)
    return FittedLine(
        count=count,
        intercept=float(y_mean - slope * x_mean),
        slope=float(slope),
        u_intercept=math.sqrt(residual * (Fraction(1, count) + x_mean * x_mean / x_squares)),
        u_slope=math.sqrt(residual / x_squares),
        covariance=float(-x_mean * residual / x_squares),
        s=math.sqrt(residual),
        r_squared=float(Fraction(xy * xy, xx * yy)) if yy else None,
        x_mean=float(x_mean),
        x_squares=float(x_squares),
        y_mean=float(y_mean),
    )
