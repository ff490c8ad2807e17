"""A value against limits with a guard for its uncertainty: within, outside, undecided. Pure.

What a limit is compared with is exact: decimals and fractions in mm. Probabilities are floats.
"""

import math
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Literal

import msgspec

from daq.lengths import EXACT

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
    return max(_phi(above) - _phi(below), 0.0)


def _distance(limit: Decimal, y: Decimal, u: float) -> float:
    away = float(EXACT.subtract(limit, y))
    return away / u if u else away


def _phi(z: float) -> float:
    return math.erfc(-z / math.sqrt(2)) / 2


class Risks(msgspec.Struct, frozen=True):
    """Shares of all parts made. `nonconforming`: not within the limits; `consumer`: not within and
    accepted all the same; `producer`: within and not accepted.
    """

    nonconforming: float
    consumer: float
    producer: float


def global_risks(mean: float, sd: float, low: float, high: float, u: float, guard: float) -> Risks:
    """The global risks of accepting from low + guard to high - guard, measuring with a normal u.

    `mean`, `sd`: of the true sizes, normal. All in one unit, any. Absolute error under 1e-7.
    Source: JCGM 106:2012, 9.5 (from memory), integrated over the true size by Simpson's rule.
    Raises ValueError for an `sd` or `u` not over zero and for limits that cross.
    """
    if not (sd > 0 and u > 0 and low < high):
        raise ValueError(f"sd {sd} and u {u} must be over zero, and {low} below {high}")
    least, most = low + guard, high - guard

    def accepted(size: float) -> float:
        if least > most:
            return 0.0
        return max(_phi((most - size) / u) - _phi((least - size) / u), 0.0)

    def density(size: float) -> float:
        return math.exp(-(((size - mean) / sd) ** 2) / 2) / (sd * math.sqrt(2 * math.pi))

    # Smooth between these, and fine enough where acceptance turns from 1 to 0 within a few u.
    ends = (mean - 9 * sd, mean + 9 * sd)
    turns = {edge + far * u for edge in (least, most) for far in (-9, 0, 9)}
    cuts = sorted({*ends, *(cut for cut in {low, high, *turns} if ends[0] < cut < ends[1])})
    nonconforming = consumer = producer = 0.0
    for start, stop in pairwise(cuts):
        all_parts = _simpson(density, start, stop)
        taken = _simpson(lambda size: density(size) * accepted(size), start, stop)
        if low <= (start + stop) / 2 <= high:
            producer += all_parts - taken
        else:
            nonconforming += all_parts
            consumer += taken
    return Risks(nonconforming, consumer, producer)


def _simpson(function: Callable[[float], float], start: float, stop: float) -> float:
    panels = 400
    width = (stop - start) / panels
    inner = ((4 if n % 2 else 2) * function(start + n * width) for n in range(1, panels))
    return (function(start) + math.fsum(inner) + function(stop)) * width / 3


__all__ = [
    "DecisionRule",
    "FormVerdict",
    "Risks",
    "SizeVerdict",
    "conformance_probability",
    "decide_size",
    "decide_upper",
    "global_risks",
]
