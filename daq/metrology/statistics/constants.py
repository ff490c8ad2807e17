"""Control-chart constants, computed: range and scatter of n normal values. Pure; without unit.

Printed tables carry three or four digits and round on the way (D4); these are good to ten.
Names are the tables'. Arguments: n, the values in a subgroup, 2 to LARGEST; ValueError otherwise.
Source: range distribution of Tippett (1925) as in D. C. Montgomery, Introduction to Statistical
Quality Control, appendix VI (from memory); formulas beside each.
"""

import math
from functools import lru_cache

from daq.metrology.statistics.distributions import normal_cdf

LARGEST = 1000
_STEP, _REACH = 0.1, 9.0
_LOG_STEP, _LOG_LOW, _LOG_HIGH = 0.1, -16.0, 3.0


@lru_cache(maxsize=64)
def d2(n: int) -> float:
    """Mean range of n standard normal values: integral of 1 - Phi^n - (1 - Phi)^n."""
    _count(n)
    # A trapezium rule over a smooth hump that ends in nothing: its error falls exponentially.
    return math.fsum(1 - below**n - above**n for _, below, above in _normal()) * _STEP


@lru_cache(maxsize=64)
def d3(n: int) -> float:
    """Standard deviation of the range of n standard normal values."""
    _count(n)
    # E(R^2) = 2 * integral of w P(R > w), over log w: smooth and without an edge again.
    terms = []
    for index in range(round((_LOG_HIGH - _LOG_LOW) / _LOG_STEP) + 1):
        w = math.exp(_LOG_LOW + index * _LOG_STEP)
        terms.append(w * w * _range_over(w, n))
    return math.sqrt(2 * math.fsum(terms) * _LOG_STEP - d2(n) ** 2)


def d2_star(n: int, g: int) -> float:
    """Root mean square of the mean of g ranges of n standard normal values: sqrt(d2^2 + d3^2 / g).

    (mean range / d2_star)^2 estimates a variance without bias. Source: A. J. Duncan, Quality
    Control and Industrial Statistics, appendix D3 (from memory).
    """
    if g < 1:
        raise ValueError(f"a mean of {g} ranges; there must be at least one")
    return math.hypot(d2(n), d3(n) / math.sqrt(g))


def D4(n: int) -> float:  # noqa: N802 - the tables' name
    """Upper limit of ranges, in their mean: 1 + 3 d3 / d2."""
    return 1 + 3 * d3(n) / d2(n)


@lru_cache(maxsize=1)
def _normal() -> tuple[tuple[float, float, float], ...]:
    """Places on the axis; the normal probabilities below and above each."""
    points = round(_REACH / _STEP)
    return tuple(
        (x, normal_cdf(x), normal_cdf(-x))
        for x in (index * _STEP for index in range(-points, points + 1))
    )


@lru_cache(maxsize=1)
def _weights() -> tuple[float, ...]:
    """Normal density at the places of `_normal`, times their distance."""
    scale = _STEP / math.sqrt(math.tau)
    return tuple(scale * math.exp(-x * x / 2) for x, _, _ in _normal())


@lru_cache(maxsize=1024)
def _inside(w: float) -> tuple[float, ...]:
    """Normal probabilities of [x, x + w] at the places of `_normal`."""
    return tuple(
        # Of the two tails the shorter keeps the digits.
        above - normal_cdf(-(x + w)) if x + w / 2 > 0 else normal_cdf(x + w) - below
        for x, below, above in _normal()
    )


def _range_over(w: float, n: int) -> float:
    """P(R > w): 1 - n * integral of phi(x) (Phi(x + w) - Phi(x))^(n - 1)."""
    power = n - 1
    inside = zip(_weights(), _inside(w), strict=True)
    return 1 - n * math.fsum(weight * each**power for weight, each in inside)


def _count(n: int) -> None:
    if not 2 <= n <= LARGEST:
        raise ValueError(f"a subgroup of {n} values; the constants are for 2 to {LARGEST}")
