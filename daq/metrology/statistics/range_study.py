"""The average and range method of a gauge study: what can be done with pencil and table. Pure.

Values as in `samples`; what comes out are floats in their unit.
"""

from collections.abc import Sequence
from fractions import Fraction

import msgspec

from daq.metrology.statistics.anova import Sizes, shape
from daq.metrology.statistics.constants import d2, d2_star
from daq.metrology.statistics.samples import Real, exact_mean
from daq.metrology.statistics.scatter import (
    OPERATORS,
    PARTS,
    REPEATABILITY,
    StudyScatter,
    component,
)

MANY_RANGES = 15
"""Over so many ranges the published factors of the trials are 1 / d2; up to it 1 / d2* is exact.
Source: AIAG measurement systems analysis, note to K1 (from memory)."""


class RangeStudy(msgspec.Struct, frozen=True):
    """What the sheet of the method shows.

    `operator_ranges` and `operator_means` have one entry an operator; `mean_range` is over all,
    `mean_difference` largest - smallest operator mean, `part_range` largest - smallest part mean.
    k1, k2, k3 are the factors of trials, operators and parts. It knows no interaction: that is in
    the operators.
    """

    parts: int
    operators: int
    trials: int
    operator_ranges: tuple[float, ...]
    operator_means: tuple[float, ...]
    mean_range: float
    mean_difference: float
    part_range: float
    k1: float
    k2: float
    k3: float
    scatter: StudyScatter


def average_and_range(sizes: Sizes) -> RangeStudy:
    """EV = mean range * K1, AV^2 = (difference of operators * K2)^2 - EV^2 / (parts * trials), PV =
    range of parts * K3.

    An AV^2 below 0 counts as 0 and is named. Raises ValueError as `anova.shape`. Source: AIAG
    measurement systems analysis, average and range method (from memory).
    """
    parts, operators, trials = shape(sizes)
    ranges = [
        exact_mean([_range(part[operator]) for part in sizes]) for operator in range(operators)
    ]
    means = [
        exact_mean([value for part in sizes for value in part[operator]])
        for operator in range(operators)
    ]
    part_means = [exact_mean([value for cell in part for value in cell]) for part in sizes]
    mean_range, difference = exact_mean(ranges), _range(means)
    part_range = _range(part_means)
    count = parts * operators
    k1 = 1 / (d2(trials) if count > MANY_RANGES else d2_star(trials, count))
    k2, k3 = 1 / d2_star(operators, 1), 1 / d2_star(parts, 1)
    repeatability = (float(mean_range) * k1) ** 2
    between = (float(difference) * k2) ** 2 - repeatability / (parts * trials)
    return RangeStudy(
        parts=parts,
        operators=operators,
        trials=trials,
        operator_ranges=tuple(map(float, ranges)),
        operator_means=tuple(map(float, means)),
        mean_range=float(mean_range),
        mean_difference=float(difference),
        part_range=float(part_range),
        k1=k1,
        k2=k2,
        k3=k3,
        scatter=StudyScatter(
            (
                component(REPEATABILITY, repeatability),
                component(OPERATORS, between),
                component(PARTS, (float(part_range) * k3) ** 2),
            )
        ),
    )


def _range(values: Sequence[Real]) -> Fraction:
    exact = [exact_mean([value]) for value in values]
    return max(exact) - min(exact)
