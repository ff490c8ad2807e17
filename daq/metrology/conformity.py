"""A value against limits with a guard for its uncertainty: within, outside, undecided. Pure.

What a limit is compared with is exact: decimals and fractions in mm. Probabilities are floats.
"""

import math
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from daq.lengths import EXACT
from daq.metrology.statistics.distributions import normal_cdf

DecisionRule = Literal["guarded", "simple"]
SizeVerdict = Literal["within", "outside-low", "outside-high", "undecided"]
FormVerdict = Literal["within", "over", "undecided"]


def decide_size(
    y: Decimal, low: Decimal | None, high: Decimal | None, guard: Decimal, rule: DecisionRule
) -> SizeVerdict:
    """A size against its limits, all in mm; a limit that is None is not there.

    "guarded": within from low + guard to high - guard, both included; outside below low - guard or
    above high + guard, both excluded; undecided between (ISO 14253-1: conformity and its opposite
    are each proven only beyond the uncertainty). "simple": within from low to high, both included,
    else outside; `guard` is not used (ILAC-G8:09/2019, 4.2.1). Raises ValueError for a negative
    guard and for limits that cross.
    """
    guard = _guard(guard, rule)
    if low is not None and high is not None and low > high:
        raise ValueError(f"the low limit {low} mm is over the high limit {high} mm")
    if low is not None and y < EXACT.subtract(low, guard):
        return "outside-low"
    if high is not None and y > EXACT.add(high, guard):
        return "outside-high"
    if low is not None and y < EXACT.add(low, guard):
        return "undecided"
    if high is not None and y > EXACT.subtract(high, guard):
        return "undecided"
    return "within"


def decide_upper(
    value: Fraction, limit: Decimal, guard: Decimal, rule: DecisionRule, *, equal_allowed: bool
) -> FormVerdict:
    """An out-of-round, a taper or a drift against the most it may be, all in mm.

    `equal_allowed`: the manual says "must not exceed", so the limit itself is good; else it says
    "must be less than", and the limit itself is not. The guard moves the limit and changes nothing
    of that. Raises ValueError for a negative guard.
    """
    guard = _guard(guard, rule)
    least, most = Fraction(EXACT.subtract(limit, guard)), Fraction(EXACT.add(limit, guard))
    if value < least or (equal_allowed and value == least):
        return "within"
    if value > most or (not equal_allowed and value == most):
        return "over"
    return "undecided"


def _guard(guard: Decimal, rule: DecisionRule) -> Decimal:
    if guard < 0:
        raise ValueError(f"a guard of {guard} mm; a guard band lies inside the limits")
    return Decimal(0) if rule == "simple" else guard


def conformance_probability(
    y: Decimal, u: float, low: Decimal | None, high: Decimal | None
) -> float:
    """Probability that the true size lies within the limits, in mm, given `y` and a normal u.

    Source: JCGM 106:2012, 7.2 to 7.4 (from memory). With u = 0 it is 1 or 0, limits included.
    Raises ValueError for a negative u.
    """
    if not 0 <= u < math.inf:
        raise ValueError(f"a standard uncertainty of {u} mm")
    below = -math.inf if low is None else _distance(low, y, u)
    above = math.inf if high is None else _distance(high, y, u)
    if not u:
        return float(below <= 0 <= above)
    if below > 0:  # both in the upper tail: from its own end, or the digits cancel
        below, above = -above, -below
    return max(normal_cdf(above) - normal_cdf(below), 0.0)


def _distance(limit: Decimal, y: Decimal, u: float) -> float:
    away = float(EXACT.subtract(limit, y))
    return away / u if u else away


__all__ = [
    "DecisionRule",
    "FormVerdict",
    "SizeVerdict",
    "conformance_probability",
    "decide_size",
    "decide_upper",
]
