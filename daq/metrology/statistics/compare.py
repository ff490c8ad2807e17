"""Does one kind of reading scatter more than another? Pure; ratios have no unit."""

import math

import msgspec

from daq.metrology.statistics.distributions import f_quantile
from daq.metrology.statistics.samples import Pooled


class FTest(msgspec.Struct, frozen=True):
    """The ratio of two variances against what chance alone exceeds with the probability `alpha`.

    `dof`: of the first, of the second. The ratio of any scatter to none is infinite, that of none
    to none 0.
    """

    ratio: float
    dof: tuple[float, float]
    alpha: float

    @property
    def limit(self) -> float:
        """The most that the ratio may be."""
        return f_quantile(1 - self.alpha, *self.dof)

    @property
    def is_larger(self) -> bool:
        """The first variance is larger than the second one, by more than chance."""
        return math.isinf(self.ratio) or self.ratio > self.limit


def f_test(one: Pooled, other: Pooled, alpha: float) -> FTest:
    """Is the scatter of `one` larger than that of `other`? One-sided.

    For a test of both sides ask twice, each way with half of `alpha`. Source: NIST/SEMATECH
    e-Handbook, 1.3.5.9.
    """
    to_nothing = math.inf if one.sd else 0.0
    ratio = (one.sd / other.sd) ** 2 if other.sd else to_nothing
    return FTest(ratio, (one.dof, other.dof), alpha)
