"""How fast a gauge's error changes, with confidence. Pure; lengths are float mm.

A drift is told of, never corrected for: a correction would need its uncertainty added, and the next
check shows the error itself.
"""

import math
from collections.abc import Sequence

import msgspec

from daq.gauges.series import Point, Series
from daq.gauges.words import size_words
from daq.metrology.statistics.distributions import t_quantile
from daq.metrology.statistics.line import FittedLine, fit
from daq.metrology.uncertainty.components import resolution_u

LEAST_POINTS, LEAST_DAYS = 5, 14
"""Occasions, and the days that they span, before a line is drawn through them. Chosen by us: below
that the bound of the rate says nothing."""

CONFIDENCE = 0.95
LOOK_AHEAD_YEARS = 10
_DAY_US = 86_400_000_000
_YEAR_US = 365.25 * _DAY_US


class Drift(msgspec.Struct, frozen=True):
    """A least-squares line through the errors since the last adjustment, one an occasion.

    Times are microseconds UTC; `start_us` is the first occasion, `end_us` the last; the line's x
    counts years from the first. `sd_mm` is the scatter about it, at least what the resolution alone
    gives. `factor` is Student's t for the confidence.
    """

    size_words: str
    start_us: int
    end_us: int
    line: FittedLine
    sd_mm: float
    factor: float

    @property
    def count(self) -> int:
        """Occasions."""
        return self.line.count

    @property
    def rate_mm(self) -> float:
        """Change of the error a year."""
        return self.line.slope

    @property
    def half_width_mm(self) -> float:
        """Half width of the two-sided 95 % confidence interval of the rate."""
        return self.factor * self.sd_mm / math.sqrt(self.line.x_squares)

    @property
    def days(self) -> float:
        """From the first occasion to the last."""
        return (self.end_us - self.start_us) / _DAY_US

    @property
    def is_real(self) -> bool:
        """The interval of the rate does not reach zero."""
        return abs(self.rate_mm) > self.half_width_mm

    def at(self, at_us: int) -> tuple[float, float]:
        """The line's error at a moment, and the half width of its 95 % confidence interval."""
        value, u = self.line.predict((at_us - self.start_us) / _YEAR_US, self.sd_mm)
        return value, self.factor * u

    def crossing_us(self, limit_mm: float) -> int | None:
        """When the interval of the line first reaches a permitted error after the last occasion;
        None if not within LOOK_AHEAD_YEARS. It never says when the error itself will be there.
        """

        def reaches(at_us: int) -> bool:
            value, half = self.at(at_us)
            return abs(value) + half >= limit_mm

        if reaches(self.end_us):
            return self.end_us
        before, after = self.end_us, self.end_us + round(LOOK_AHEAD_YEARS * _YEAR_US)
        if not reaches(after):
            return None
        while after - before > 3_600_000_000:  # the bound grows all the way: it is convex
            middle = (before + after) // 2
            before, after = (before, middle) if reaches(middle) else (middle, after)
        return after


def drift_of(series: Series, age: int) -> Drift | None:
    """The drift at one size since the gauge was last adjusted; None if too little is known."""
    points = [point for point in series.points if point.is_occasion and point.age == age]
    if len(points) < LEAST_POINTS:
        return None
    start, end = points[0].at_us, points[-1].at_us
    if end - start < LEAST_DAYS * _DAY_US:
        return None
    return _drift(size_words(series), points, start, end)


def _drift(words: str, points: Sequence[Point], start: int, end: int) -> Drift:
    years = [(point.at_us - start) / _YEAR_US for point in points]
    line = fit(years, [point.error_mm for point in points])
    return Drift(
        size_words=words,
        start_us=start,
        end_us=end,
        line=line,
        sd_mm=max(line.s, *(resolution_u(point.step_mm) for point in points)),
        factor=t_quantile((1 + CONFIDENCE) / 2, line.dof),
    )
