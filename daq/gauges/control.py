"""Is a gauge in statistical control on its check standard, the stack? Pure; lengths are float mm.

Source: NIST/SEMATECH e-Handbook of Statistical Methods, 2.3.5 (control of bias by t limits about a
baseline, of precision by an F limit against the pooled standard deviation).
"""

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache

import msgspec

from daq.gauges.series import Point, Series
from daq.metrology.statistics.compare import f_test
from daq.metrology.statistics.distributions import chi2_quantile, t_quantile
from daq.metrology.statistics.samples import (
    Pooled,
    Squares,
    pooled,
    pooled_squares,
    sample,
    together,
)
from daq.metrology.uncertainty.components import resolution_u

ALPHA = 0.01
"""Chance of a false alarm a test. The e-Handbook takes 0.01 for precision (2.3.5.1) and 0.05 in its
example for bias; 0.01 for both is chosen by us: one false alarm in twenty checks would teach people
to write reasons without looking."""

LEAST_BASELINE, MOST_BASELINE = 6, 20
"""Occasions that a baseline needs and takes. Six as in the e-Handbook's example (2.3.5.2); later
ones are judged by the first twenty, so that a slow change cannot move its own limits. Chosen by us.
"""

LEAST_DOF = 5
"""Degrees of freedom before precision is judged. Chosen by us."""

IN, OUT, TOO_FEW = "in control", "out of control", "too few checks"


class Baseline(msgspec.Struct, frozen=True):
    """What the gauge did on earlier occasions: mean and sample standard deviation of their errors,
    and the limits for the next. `is_floored`: the errors agree better than the resolution can show,
    so one that the resolution alone would give stands for `sd_mm`.
    """

    count: int
    mean_mm: float
    sd_mm: float
    is_floored: bool
    low_mm: float
    high_mm: float
    alpha: float = ALPHA

    def holds(self, error_mm: float) -> bool:
        """Within the limits, which belong to it."""
        return self.low_mm - _ROUNDING <= error_mm <= self.high_mm + _ROUNDING


class Mark(msgspec.Struct, frozen=True):
    """An occasion and what it was judged by: no baseline, no judgement."""

    point: Point
    baseline: Baseline | None
    is_in: bool | None


class Precision(msgspec.Struct, frozen=True):
    """One check's standard deviation against the pooled one of those before it; `is_floored`: what
    the resolution alone would give stands for that.
    """

    point: Point
    pooled_mm: float
    pooled_dof: int
    is_in: bool
    is_floored: bool
    alpha: float = ALPHA

    @property
    def used_mm(self) -> float:
        """What the check's standard deviation is judged by."""
        return resolution_u(self.point.step_mm) if self.is_floored else self.pooled_mm

    @property
    def limit_mm(self) -> float:
        """The most that the check's standard deviation may be."""
        sd = self.point.sd_mm
        assert sd is not None
        used = Pooled(self.used_mm, self.pooled_dof)
        return used.sd * math.sqrt(f_test(Pooled(sd, self.point.dof), used, self.alpha).limit)

    @property
    def holds(self) -> bool:
        """Within the limit, which belongs to it."""
        sd = self.point.sd_mm
        assert sd is not None
        # The limit is never below that of infinitely many degrees of freedom, which is soon known.
        if sd <= self.used_mm * _least_ratio(self.alpha, self.point.dof):
            return True
        return sd <= self.limit_mm + _ROUNDING


class Control(msgspec.Struct, frozen=True):
    """Control of the bias at one size: `marks` has one entry an occasion, in order of time;
    `next_baseline` what the next occasion will be judged by.
    """

    state: str
    marks: tuple[Mark, ...]
    next_baseline: Baseline | None


_ROUNDING = 1e-12
"""Of floats in mm; a picometre."""


NO_SCATTER = Squares(0.0, 0.0)


@lru_cache
def _least_ratio(alpha: float, dof: int) -> float:
    """F(1 - alpha; dof, infinity) = chi-squared / dof, as a ratio of standard deviations."""
    return math.sqrt(chi2_quantile(1 - alpha, dof) / dof)


def baseline_of(errors: Sequence[float], step_mm: float, alpha: float = ALPHA) -> Baseline:
    """Limits mean -+ t(1 - alpha/2, K - 1) * s from the errors of K >= 2 earlier occasions, in mm.

    Source: NIST/SEMATECH e-Handbook 2.3.5.2.
    """
    found, least = sample(errors), resolution_u(step_mm)
    used = max(found.sd, least)
    half = t_quantile(1 - alpha / 2, found.count - 1) * used
    low, high = found.mean - half, found.mean + half
    return Baseline(found.count, found.mean, used, found.sd < least, low, high, alpha)


def control_of(series: Series, age: int, alpha: float = ALPHA) -> Control:
    """The bias at one size; `age`: how often the gauge was adjusted, so that only what was measured
    since counts now.

    Each occasion is judged by those before it of the same age that passed and were in control
    themselves, the first MOST_BASELINE of them.
    """
    errors: list[float] = []
    marks: list[Mark] = []
    baseline, last_age = None, -1
    for point in series.points:
        if not point.is_occasion:
            continue
        if point.age != last_age:
            errors, baseline, last_age = [], None, point.age
        is_in = None if baseline is None else baseline.holds(point.error_mm)
        marks.append(Mark(point, baseline, is_in))
        if len(errors) < MOST_BASELINE and (point.check.passed if is_in is None else is_in):
            errors.append(point.error_mm)
            if len(errors) >= LEAST_BASELINE:
                baseline = baseline_of(errors, point.step_mm, alpha)
    if last_age != age:
        return Control(TOO_FEW, tuple(marks), None)
    latest = marks[-1].is_in
    state = TOO_FEW if latest is None else (IN if latest else OUT)
    return Control(state, tuple(marks), baseline)


def precisions(points: Sequence[Point], alpha: float = ALPHA) -> Iterator[Precision]:
    """Each check's standard deviation against those before it at any size, in order of time.

    s is out if s^2 > F(1 - alpha; n - 1, nu) * s_p^2, with s_p pooled by degrees of freedom over
    the earlier checks that were not out themselves. Source: NIST/SEMATECH e-Handbook 2.3.5.1. A
    pooled value that the resolution alone would give is the least that is used.
    """
    seen, age = NO_SCATTER, -1
    for point in sorted(points, key=lambda point: point.at_us):
        if point.age != age:
            seen, age = NO_SCATTER, point.age
        if point.sd_mm is None:
            continue
        is_in = True
        if seen.dof >= LEAST_DOF:
            before = pooled_squares([seen])
            is_floored = before.sd < resolution_u(point.step_mm)
            judged = Precision(point, before.sd, round(before.dof), True, is_floored, alpha)
            is_in = judged.holds
            yield judged if is_in else msgspec.structs.replace(judged, is_in=False)
        if is_in:
            seen = together([seen, Squares(point.sd_mm**2 * point.dof, point.dof)])


def pooled_sd(points: Sequence[Point]) -> tuple[float, int]:
    """Standard deviation of one reading in mm, pooled over all checks, with degrees of freedom;
    (0, 0) if no check has two readings. Source: NIST/SEMATECH e-Handbook 2.4.4 (pooled by degrees
    of freedom, never averaged).
    """
    parts = [(point.sd_mm, float(point.dof)) for point in points if point.sd_mm is not None]
    if not parts:
        return 0.0, 0
    found = pooled(parts)
    return found.sd, round(found.dof)
