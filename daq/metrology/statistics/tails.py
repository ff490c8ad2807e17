"""Incomplete beta and gamma functions, as logarithms, with their slopes. Pure; floats, no unit.

Both are given as functions of s, the logarithm of what is asked for (the odds x / (1 - x) for beta,
x itself for gamma). Seen so, the logarithms of both tails are concave: Newton's method cannot fail,
and no tail is too small to be told.
"""

import math
from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

_HALF_LOG_TAU = math.log(math.tau) / 2
_MOST_TERMS = 100_000
_CLOSE = 4e-16
_TINY = 1e-300
_LAST_STEP = 3e-6
"""Halley's steps cube the error, so what follows a step this small is below the last digit."""
_LONGEST_STEP = 50.0
_MOST_STEPS = 500


class Tails(NamedTuple):
    """At s: the logarithms of both tails, their slopes, and the slope of the log of the density."""

    lower: float
    upper: float
    rise: float
    fall: float
    bend: float


def beta_tails(s: float, a: float, b: float) -> Tails:
    """I_x(a, b) and 1 - I_x(a, b) at x / (1 - x) = exp(s), a and b over 0.

    Source: the continued fraction of Abramowitz and Stegun 26.5.8. Its factor x^a (1-x)^b / B(a, b)
    is taken about its largest value with Stirling's remainders, so that nothing cancels at many
    degrees of freedom.
    """
    # exp(-|s|) cannot overflow, and both x and y = 1 - x keep all their digits.
    small = math.exp(-abs(s))
    x, y = 1 / (1 + small), small / (1 + small)
    log_x = -math.log1p(small)
    log_y = log_x - abs(s)
    if s < 0:
        x, y, log_x, log_y = y, x, log_y, log_x
    lead = b * x - a * y
    front = (
        _beta_peak(a, b)
        + _power(a, lead, log_x + math.log((a + b) / a))
        + _power(b, -lead, log_y + math.log((a + b) / b))
    )
    if x * (a + b + 2) < a + 1:
        return _from_lower(front, _beta_fraction(x, a, b, -lead), -lead)
    return _from_upper(front, _beta_fraction(y, b, a, lead), -lead)


def gamma_tails(s: float, a: float) -> Tails:
    """P(a, x) and Q(a, x) at x = exp(s), a over 0.

    Source: the series (Abramowitz and Stegun 6.5.29) below a + 1, the continued fraction (6.5.31)
    above.
    """
    x = math.exp(s)
    lead = x - a
    front = _gamma_peak(a) + _power(a, lead, s - math.log(a)) - lead
    if x < a + 1:
        return _from_lower(front, 1 / _gamma_series(a, x), -lead)
    return _from_upper(front, 1 / _gamma_fraction(a, x), -lead)


def solve(tail: float, is_lower: bool, start: float, tails: Callable[[float], Tails]) -> float:
    """The s where the lower or the upper tail is `tail`, over 0 and up to 1/2.

    A concave function lies below its tangents, so from the second step on Newton's method nears the
    root from one side; close to it Halley's, which knows the curvature too, takes over.
    """
    target = math.log(tail)
    s = start
    for _ in range(_MOST_STEPS):
        found = tails(s)
        reached, slope = (found.lower, found.rise) if is_lower else (found.upper, found.fall)
        if not slope:  # beyond the last digit of 1: back towards the smaller tail
            s += _LONGEST_STEP * (-1 if is_lower else 1)
            continue
        step = (target - reached) / slope
        if abs(step) < 1:
            step /= min(2.0, max(0.5, 1 + step * (found.bend - slope) / 2))
        longest = _LONGEST_STEP + abs(s)
        s += max(-longest, min(longest, step))
        if abs(step) < _LAST_STEP:
            return s
    raise ArithmeticError(f"no quantile found for a tail of {tail}, started at {start}")


def _from_lower(front: float, slope: float, bend: float) -> Tails:
    """Both tails by the density's logarithm and its ratio to the lower tail."""
    lower = front - math.log(slope)
    upper = _other(lower)
    return Tails(lower, upper, slope, -math.exp(front - upper), bend)


def _from_upper(front: float, slope: float, bend: float) -> Tails:
    """Both tails by the density's logarithm and its ratio to the upper tail."""
    upper = front - math.log(slope)
    lower = _other(upper)
    return Tails(lower, upper, math.exp(front - lower), -slope, bend)


@lru_cache(maxsize=256)
def _beta_peak(a: float, b: float) -> float:
    """The logarithm of x^a (1-x)^b / B(a, b) where it is largest."""
    return (
        0.5 * math.log(a * b / (a + b))
        - _HALF_LOG_TAU
        + _remainder(a + b)
        - _remainder(a)
        - _remainder(b)
    )


@lru_cache(maxsize=256)
def _gamma_peak(a: float) -> float:
    """The logarithm of x^a exp(-x) / gamma(a) where it is largest."""
    return 0.5 * math.log(a) - _HALF_LOG_TAU - _remainder(a)


def _power(a: float, lead: float, log: float) -> float:
    """a * log, where log is that of 1 + lead / a: near 1 only this form keeps the digits."""
    ratio = lead / a
    return a * (math.log1p(ratio) if abs(ratio) < 0.5 else log)


def _remainder(a: float) -> float:
    """What Stirling's formula leaves of log gamma(a) (Abramowitz and Stegun 6.1.41)."""
    if a < 16:
        return math.lgamma(a) - ((a - 0.5) * math.log(a) - a + _HALF_LOG_TAU)
    inverse = 1 / (a * a)
    return (
        1 / 12 - inverse * (1 / 360 - inverse * (1 / 1260 - inverse * (1 / 1680 - inverse / 1188)))
    ) / a


def _other(log_tail: float) -> float:
    """The logarithm of 1 - exp(log_tail)."""
    return math.log(-math.expm1(log_tail))


def _beta_fraction(x: float, a: float, b: float, excess: float) -> float:
    """Two terms of 26.5.8 a turn, forwards after Lentz; `excess` is a * (1 - x) - b * x."""
    fraction = c = a * (excess + 1) / (a + 1)
    d = 0.0
    widening = 2 - x
    for n in range(1, _MOST_TERMS):
        at = a + 2 * n - 1
        part = n * (b - n) * x / at
        over = part * (a + n - 1) * (a + b + n - 1) * x / at
        under = n + part + (a + n) * (excess + 1 + n * widening) / (at + 2)
        d = 1 / (under + over * d or _TINY)
        c = under + over / c or _TINY
        step = c * d
        fraction *= step
        if -_CLOSE < step - 1 < _CLOSE:
            break
    return fraction


def _gamma_series(a: float, x: float) -> float:
    term = total = 1 / a
    for n in range(1, _MOST_TERMS):
        term *= x / (a + n)
        total += term
        if term < total * 1e-16:
            break
    return total


def _gamma_fraction(a: float, x: float) -> float:
    b = x + 1 - a
    c, d = 1 / _TINY, 1 / b
    result = d
    for n in range(1, _MOST_TERMS):
        term = -n * (n - a)
        b += 2
        d = 1 / (term * d + b or _TINY)
        c = b + term / c or _TINY
        step = c * d
        result *= step
        if -_CLOSE < step - 1 < _CLOSE:
            break
    return result
