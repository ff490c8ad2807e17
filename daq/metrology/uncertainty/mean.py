"""How well a mean of readings is known: by their scatter, or by the gauge's step. Pure."""

import math
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.metrology.uncertainty.components import resolution_u


class Scatter(msgspec.Struct, frozen=True):
    """A pooled sample standard deviation squared, in square mm, exactly; its degrees of freedom,
    math.inf where it is taken from a limit. `note` for people.
    """

    variance: Fraction
    dof: float
    note: str


class Mean(msgspec.Struct, frozen=True):
    """How well the mean of some readings is known: standard uncertainty in mm, its degrees of
    freedom, and whether scatter decides it or the gauge's step.
    """

    u_mm: float
    dof: float
    is_scatter: bool


def mean_of(count: int, scatter: Scatter, step_mm: Decimal) -> Mean:
    """The mean of `count` readings: the larger of s / sqrt(count) and q / sqrt(12).

    Scatter contains what the step rounds; a mean of readings that all fall on one step says no more
    than the step does (JCGM 100:2008, F.2.2.1; H.6 takes one of the two, not both). Compared
    exactly; equal counts as scatter.
    """
    if 12 * scatter.variance >= count * Fraction(step_mm) ** 2:
        return Mean(math.sqrt(scatter.variance / count), scatter.dof, True)
    return Mean(resolution_u(float(step_mm)), math.inf, False)
