"""A budget: components combined to a standard and an expanded uncertainty. Pure.

Uncertainties are floats in mm; nothing is rounded before it is shown or compared with a limit.
"""

import math
from collections.abc import Sequence
from decimal import ROUND_CEILING, Decimal
from functools import lru_cache

import msgspec

from daq.lengths import EXACT, plain
from daq.metrology.statistics.distributions import normal_quantile, t_quantile
from daq.metrology.uncertainty.components import Component

DEFAULT_COVERAGE = 0.9545
"""Probability of an interval of two standard deviations of a normal distribution."""

_NOISE = 1e-9
"""Binary noise: so far under a whole number of degrees of freedom, or so far of a step over a step
of rounding, a float counts as on it."""

_MANY = 200
"""From so many degrees of freedom on, t is taken from its expansion about the normal distribution:
a live view meets ever new large ones, and a search for each would cost milliseconds."""

Correlation = tuple[int, int, float]
"""Two places in the tuple of components, from 0, and their correlation coefficient."""


class Budget(msgspec.Struct, frozen=True):
    """Components and what they come to.

    `combined`: u_c in mm. `effective_dof`: Welch-Satterthwaite, unrounded, math.inf allowed; `dof`:
    the same cut down to a whole number, which `k` is for. `expanded`: U = k u_c in mm, an interval
    +- U holding `coverage`.
    """

    components: tuple[Component, ...]
    correlations: tuple[Correlation, ...]
    combined: float
    effective_dof: float
    dof: float
    coverage: float
    k: float
    expanded: float

    def share(self, component: Component) -> float:
        """A component's part of the combined variance, 0 to 1; 0 where that is zero.

        The shares come to 1 where nothing is correlated.
        """
        if not self.combined:
            return 0.0
        return (component.contribution_mm / self.combined) ** 2

    @property
    def correlated_share(self) -> float:
        """What correlations add to the combined variance, as a share of it, negative or not."""
        if not self.correlations or not self.combined:
            return 0.0
        return 1 - math.fsum(self.share(component) for component in self.components)


def combine(
    components: Sequence[Component],
    coverage: float = DEFAULT_COVERAGE,
    correlations: Sequence[Correlation] = (),
) -> Budget:
    """The budget of `components`; `correlations` are of pairs named once, all others being zero.

    u_c**2 = sum of squares of contributions, and 2 r c_i u_i c_j u_j for each correlated pair
    (JCGM 100:2008, 5.1.2 and 5.2.2). k is the t quantile for the effective degrees of freedom cut
    down to a whole number (G.4.1, G.6.4). Components correlated with each other count there as one,
    with the fewest degrees of freedom among them: chosen by us, as the formula is for independent
    ones. Raises ValueError for an impossible coverage or correlation.
    """
    if not 0 < coverage < 1:
        raise ValueError(f"a coverage probability of {coverage}; it lies between 0 and 1")
    components = tuple(components)
    pairs = _checked(components, correlations)
    if pairs:
        terms = _groups(components, pairs)
    else:
        terms = [(c.contribution_mm**2, c.dof) for c in components]
    variance = math.fsum(term for term, _ in terms)
    combined = math.sqrt(variance)
    effective = _effective_dof(variance, terms)
    nearly = effective * (1 + _NOISE)
    dof = math.floor(nearly) if math.isfinite(nearly) else math.inf
    k = coverage_factor(dof, coverage)
    return Budget(components, pairs, combined, effective, dof, coverage, k, k * combined)


@lru_cache(maxsize=4096)
def coverage_factor(dof: float, coverage: float) -> float:
    """Student's t that +- t holds `coverage` for; `dof` from 1 to math.inf."""
    p = (1 + coverage) / 2
    return t_quantile(p, dof) if dof < _MANY else _near_normal(normal_quantile(p), dof)


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


def _effective_dof(variance: float, terms: Sequence[tuple[float, float]]) -> float:
    """Welch-Satterthwaite: u_c**4 / sum(u_i**4 / dof_i). Source: JCGM 100:2008, G.4.1, eq. G.2b."""
    if not variance:
        return math.inf
    # Shares of the variance, not fourth powers: those of a nanometre in mm leave a float's range.
    below = math.fsum((term / variance) ** 2 / dof for term, dof in terms)
    return 1 / below if below else math.inf


def _checked(
    components: Sequence[Component], correlations: Sequence[Correlation]
) -> tuple[Correlation, ...]:
    seen = set()
    for i, j, r in correlations:
        pair = (min(i, j), max(i, j))
        if i == j or pair[0] < 0 or pair[1] >= len(components):
            raise ValueError(f"a correlation of components {i} and {j} of {len(components)}")
        if pair in seen:
            raise ValueError(f"the correlation of components {i} and {j} is given twice")
        if not -1 <= r <= 1:
            raise ValueError(f"a correlation coefficient of {r}; it lies between -1 and 1")
        seen.add(pair)
    return tuple(correlations)


def _groups(
    components: Sequence[Component], pairs: Sequence[Correlation]
) -> list[tuple[float, float]]:
    """Variance and degrees of freedom of each set of components that hang together."""
    group = list(range(len(components)))
    for i, j, _ in pairs:
        kept, lost = group[i], group[j]
        group = [kept if of == lost else of for of in group]
    signed = [c.sensitivity * c.u for c in components]
    variance = dict.fromkeys(group, 0.0)
    dof = dict.fromkeys(group, math.inf)
    for of, part, component in zip(group, signed, components, strict=True):
        variance[of] += part**2
        if part:
            dof[of] = min(dof[of], component.dof)
    largest = dict(variance)
    for i, j, r in pairs:
        variance[group[i]] += 2 * r * signed[i] * signed[j]
    for of, found in variance.items():
        if found < -_NOISE * largest[of]:
            raise ValueError("these correlations contradict each other: a variance is negative")
    return [(max(found, 0.0), dof[of]) for of, found in variance.items()]


def rounded_up(mm: float, step_mm: Decimal) -> Decimal:
    """An uncertainty in mm as a decimal on steps of `step_mm`, never smaller than it is.

    A guard band is compared with limits in this form. A float's noise, a thousand-millionth of a
    step, does not push it up a whole step. Raises ValueError for a negative or infinite `mm`.
    """
    if not 0 <= mm < math.inf:
        raise ValueError(f"an uncertainty of {mm} mm")
    steps = (Decimal(mm) / step_mm - Decimal(_NOISE)).to_integral_value(ROUND_CEILING)
    return EXACT.multiply(abs(steps), step_mm)


def expanded_text(budget: Budget, step_mm: Decimal) -> str:
    """U of a budget for people, in mm, rounded up to `step_mm`."""
    return f"{plain(rounded_up(budget.expanded, step_mm))} mm"


__all__ = [
    "DEFAULT_COVERAGE",
    "Budget",
    "Correlation",
    "combine",
    "coverage_factor",
    "expanded_text",
    "rounded_up",
]
