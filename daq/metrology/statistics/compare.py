"""Are two means, two standard deviations, or one and a known one, different? Pure.

Samples carry floats in one unit; statistics and probabilities have none. Every p is two-sided.
Sections of the e-Handbook are named from memory.
"""

import math

import msgspec

from daq.metrology.statistics.distributions import (
    chi2_cdf,
    chi2_quantile,
    chi2_tail,
    f_cdf,
    f_quantile,
    f_tail,
    t_cdf,
    t_quantile,
)
from daq.metrology.statistics.samples import Sample, pooled


class MeanTest(msgspec.Struct, frozen=True):
    """Two means: their difference (first - second), its standard uncertainty, Student's t and p.

    Without any scatter t is 0 or infinite.
    """

    difference: float
    u: float
    t: float
    dof: float
    p: float

    def interval(self, confidence: float = 0.95) -> tuple[float, float]:
        """Two-sided confidence interval of the difference."""
        half = t_quantile((1 + confidence) / 2, self.dof) * self.u
        return self.difference - half, self.difference + half


class SpreadTest(msgspec.Struct, frozen=True):
    """A ratio of scatter and the chance of one as far out, either way.

    `dof` has two entries for a ratio of variances (F), one for a known scatter (chi-squared).
    """

    statistic: float
    dof: tuple[float, ...]
    p: float

    def critical(self, alpha: float = 0.05) -> tuple[float, float]:
        """The statistic's lower and upper limit; outside them p is below `alpha`."""
        low, high = (
            chi2_quantile(p, *self.dof) if len(self.dof) == 1 else f_quantile(p, *self.dof)
            for p in (alpha / 2, 1 - alpha / 2)
        )
        return low, high


def t_pooled(first: Sample, second: Sample) -> MeanTest:
    """Student's t for one common scatter, pooled: only where an F test finds no difference in it.

    Source: NIST/SEMATECH e-Handbook 1.3.5.3.
    """
    common = pooled([(first.sd, first.count - 1), (second.sd, second.count - 1)])
    u = common.sd * math.sqrt(1 / first.count + 1 / second.count)
    return _mean_test(first, second, u, common.dof)


def t_welch(first: Sample, second: Sample) -> MeanTest:
    """Welch's t, each with its own scatter; degrees of freedom unrounded.

    Source: NIST/SEMATECH e-Handbook 1.3.5.3.
    """
    a, b = first.sd**2 / first.count, second.sd**2 / second.count
    if not a + b:
        return _mean_test(first, second, 0.0, first.count + second.count - 2)
    # Shares, so that no fourth power of a small number is lost.
    share = a / (a + b)
    dof = 1 / (share**2 / (first.count - 1) + (1 - share) ** 2 / (second.count - 1))
    return _mean_test(first, second, math.sqrt(a + b), dof)


def f_test(first: Sample, second: Sample) -> SpreadTest:
    """The ratio of two variances, first over second.

    Raises ValueError where both are 0. Source: NIST/SEMATECH e-Handbook 1.3.5.9.
    """
    if not (first.sd or second.sd):
        raise ValueError("neither sample scatters at all: there is no ratio of variances")
    ratio = (first.sd / second.sd) ** 2 if second.sd else math.inf
    d1, d2 = first.count - 1, second.count - 1
    return SpreadTest(ratio, (d1, d2), _both_sides(f_cdf(ratio, d1, d2), f_tail(ratio, d1, d2)))


def chi2_test(sd: float, dof: float, sigma: float) -> SpreadTest:
    """A standard deviation with its degrees of freedom against a known `sigma`: dof * (sd/sigma)^2.

    Raises ValueError for a negative sd, or a sigma or dof not above 0. Source: NIST/SEMATECH
    e-Handbook 1.3.5.8.
    """
    if not (0 <= sd < math.inf and 0 < sigma < math.inf and 0 < dof < math.inf):
        raise ValueError(
            f"a standard deviation of {sd} with {dof} degrees of freedom against {sigma}; all are "
            "finite, the first not negative, the others above 0"
        )
    statistic = dof * (sd / sigma) ** 2
    return SpreadTest(
        statistic, (dof,), _both_sides(chi2_cdf(statistic, dof), chi2_tail(statistic, dof))
    )


def _mean_test(first: Sample, second: Sample, u: float, dof: float) -> MeanTest:
    difference = first.mean - second.mean
    if not u:
        t = math.copysign(math.inf, difference) if difference else 0.0
        return MeanTest(difference, 0.0, t, dof, 0.0 if difference else 1.0)
    t = difference / u
    return MeanTest(difference, u, t, dof, min(1.0, 2 * t_cdf(-abs(t), dof)))


def _both_sides(lower: float, upper: float) -> float:
    return min(1.0, 2 * min(lower, upper))
