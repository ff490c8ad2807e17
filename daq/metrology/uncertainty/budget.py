"""A budget: components combined to a standard and an expanded uncertainty. Pure.

Uncertainties are floats in mm; nothing is rounded before it is shown or compared with a limit.
"""

import math
from collections.abc import Sequence
from decimal import ROUND_CEILING, Decimal
from functools import lru_cache

import msgspec

from daq.lengths import EXACT
from daq.metrology.statistics.distributions import normal_quantile, t_quantile
from daq.metrology.uncertainty.components import Component

DEFAULT_COVERAGE = 0.9545
"""Probability of an interval of two standard deviations of a normal distribution."""

_NOISE = 1e-9
"""Binary noise: so far under a whole number of degrees of freedom, or so far of a step over a step
of rounding, a float counts as on it."""

_TRACE = 1e-75
"""A component under this share of the whole has more degrees of freedom than a float can tell."""

_MANY = 200
"""From so many degrees of freedom on, t is taken from its expansion about the normal distribution:
a live view meets ever new large ones, and a search for each would cost milliseconds."""


class Budget(msgspec.Struct, frozen=True):
    """Components and what they come to.

    `combined`: u_c in mm. `effective_dof`: Welch-Satterthwaite, unrounded, math.inf allowed; `dof`:
    the same cut down to a whole number, which `k` is for. `expanded`: U = k u_c in mm; an interval
    +- U holds `coverage`, or where `is_one_sided` everything up to + U does.
    """

    components: tuple[Component, ...]
    combined: float
    effective_dof: float
    dof: float
    coverage: float
    k: float
    expanded: float
    is_one_sided: bool = False

    def share(self, component: Component) -> float:
        """A component's part of the combined variance, 0 to 1; 0 where that is zero."""
        if not self.combined:
            return 0.0
        return (component.contribution_mm / self.combined) ** 2


def combine(components: Sequence[Component], coverage: float = DEFAULT_COVERAGE) -> Budget:
    """The budget of `components`, which are independent of each other.

    u_c**2 is the sum of the squares of their contributions (JCGM 100:2008, 5.1.2). k is the t
    quantile for the effective degrees of freedom cut down to a whole number (G.4.1, G.6.4). Raises
    ValueError for an impossible coverage.
    """
    if not 0 < coverage < 1:
        raise ValueError(f"a coverage probability of {coverage}; it lies between 0 and 1")
    combined, effective, dof = _combined(components)
    k = coverage_factor(dof, coverage)
    return Budget(tuple(components), combined, effective, dof, coverage, k, k * combined)


def combine_one_sided(components: Sequence[Component], confidence: float) -> Budget:
    """As `combine`, for one limit: a value that lies k u_c inside it keeps it with `confidence`.

    Source: ISO 14253-1:2017 (from memory): a conformance probability, 95 % unless agreed otherwise.
    """
    combined, effective, dof = _combined(components)
    k = one_sided_factor(dof, confidence)
    return Budget(
        tuple(components), combined, effective, dof, confidence, k, k * combined, is_one_sided=True
    )


def _combined(components: Sequence[Component]) -> tuple[float, float, float]:
    """u_c in mm, the effective degrees of freedom, and these cut down to a whole number."""
    combined = math.hypot(*(component.contribution_mm for component in components))
    effective = _effective_dof(combined, components)
    nearly = effective * (1 + _NOISE)
    dof = math.floor(nearly) if math.isfinite(nearly) else math.inf
    return combined, effective, dof


def coverage_factor(dof: float, coverage: float) -> float:
    """Student's t that +- t holds `coverage` for; `dof` from 1 to math.inf."""
    return one_sided_factor(dof, (1 + coverage) / 2)


@lru_cache(maxsize=4096)
def one_sided_factor(dof: float, confidence: float) -> float:
    """Student's t that a value is not over with `confidence`; `dof` from 1 to math.inf."""
    if dof < _MANY:
        return t_quantile(confidence, dof)
    z = normal_quantile(confidence)
    return z if math.isinf(dof) else _near_normal(z, dof)


def _near_normal(z: float, dof: float) -> float:
    """t for many degrees of freedom; relative error under 1e-9 up to a coverage of 99.99 %.

    Source: Abramowitz and Stegun, 26.7.5.
    """
    s = z * z
    g1 = z * (s + 1) / 4
    g2 = z * ((5 * s + 16) * s + 3) / 96
    g3 = z * (((3 * s + 19) * s + 17) * s - 15) / 384
    g4 = z * ((((79 * s + 776) * s + 1482) * s - 1920) * s - 945) / 92160
    return z + (g1 + (g2 + (g3 + g4 / dof) / dof) / dof) / dof


def _effective_dof(combined: float, components: Sequence[Component]) -> float:
    """Welch-Satterthwaite: u_c**4 / sum(u_i**4 / dof_i). Source: JCGM 100:2008, G.4.1, eq. G.2b."""
    # Ratios, not fourth powers: those of a nanometre in mm leave a float's range.
    alone = [
        each.dof * (combined / each.contribution_mm) ** 4
        for each in components
        if math.isfinite(each.dof) and each.contribution_mm > _TRACE * combined
    ]
    if len(alone) == 1:  # an inverse of an inverse would lose a digit
        return alone[0]
    below = math.fsum(1 / each for each in alone)
    return 1 / below if below else math.inf


def rounded_up(mm: float, step_mm: Decimal) -> Decimal:
    """An uncertainty in mm as a decimal on steps of `step_mm`, never smaller than it is.

    A guard band is compared with limits in this form. A float's noise, a thousand-millionth of a
    step, does not push it up a whole step. Raises ValueError for a negative or infinite `mm`.
    """
    if not 0 <= mm < math.inf:
        raise ValueError(f"an uncertainty of {mm} mm")
    steps = (Decimal(mm) / step_mm - Decimal(_NOISE)).to_integral_value(ROUND_CEILING)
    return EXACT.multiply(abs(steps), step_mm)


__all__ = [
    "DEFAULT_COVERAGE",
    "Budget",
    "combine",
    "combine_one_sided",
    "coverage_factor",
    "one_sided_factor",
    "rounded_up",
]
