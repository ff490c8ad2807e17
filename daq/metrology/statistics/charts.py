"""Control charts: single values, moving ranges, EWMA, and subgroups by range or standard deviation.

Pure. Values as in `samples`; what comes out are floats in their unit. `out` are positions, from 0.
A point on a limit is inside. The constants of `constants` are to be had from here too.
"""

import math
from collections.abc import Callable, Sequence
from fractions import Fraction
from itertools import pairwise

import msgspec

from daq.metrology.statistics.constants import A2, A3, B3, B4, D3, D4, E2, c4, d2, d2_star, d3
from daq.metrology.statistics.samples import Real, exact_mean, mean, sd

__all__ = [
    "A2",
    "A3",
    "B3",
    "B4",
    "D3",
    "D4",
    "E2",
    "ControlChart",
    "Ewma",
    "Subgroups",
    "c4",
    "d2",
    "d2_star",
    "d3",
    "ewma",
    "individuals",
    "mean_and_range",
    "mean_and_sd",
    "moving_range",
]

WEIGHT, WIDTH = 0.3, 3.0
"""Of an EWMA, where nothing else is said. Source: NIST/SEMATECH e-Handbook 6.3.2.4."""


class ControlChart(msgspec.Struct, frozen=True):
    """A centre line with limits, the plotted values, and which of them lie outside."""

    values: tuple[float, ...]
    centre: float
    low: float
    high: float
    out: tuple[int, ...]

    @property
    def is_in_control(self) -> bool:
        """No value lies outside."""
        return not self.out


class Ewma(msgspec.Struct, frozen=True):
    """An exponentially weighted moving average: `chart` has the start, then one value each time."""

    chart: ControlChart
    weight: float
    sd: float


class Subgroups(msgspec.Struct, frozen=True):
    """Charts of the means and of the spread (range or sd) of subgroups of `size` values each.

    `sigma` is the standard deviation of one value that the mean spread gives.
    """

    size: int
    means: ControlChart
    spreads: ControlChart
    sigma: float


def individuals(
    values: Sequence[Real], baseline: int | None = None, divisor: float | None = None
) -> ControlChart:
    """Mean -+ 3 * mean moving range / d2(2); limits from the first `baseline` values, else all.

    Neighbours only, never the overall standard deviation: a drift would widen its own limits.
    `divisor` stands for d2(2) = 1.128379 where a table's 1.128 is to be followed. Raises ValueError
    for fewer than 2 values. Source: NIST/SEMATECH e-Handbook 6.3.2.2.
    """
    base = _baseline(values, baseline)
    half = 3 * mean(_moves(base)) / (d2(2) if divisor is None else divisor)
    centre = mean(base)
    return _chart([float(value) for value in values], centre, centre - half, centre + half)


def moving_range(
    values: Sequence[Real], baseline: int | None = None, factor: float | None = None
) -> ControlChart:
    """Ranges of neighbours, one fewer than values; limits 0 and D4(2) * their mean.

    `baseline` as in `individuals`; `factor` stands for D4(2) = 3.266532. Raises ValueError for
    fewer than 2 values. Source: NIST/SEMATECH e-Handbook 6.3.2.2.
    """
    centre = mean(_moves(_baseline(values, baseline)))
    high = centre * (D4(2) if factor is None else factor)
    return _chart([float(move) for move in _moves(values)], centre, 0.0, high)


def ewma(
    values: Sequence[Real],
    start: Real,
    sd: float,
    weight: float = WEIGHT,
    width: float = WIDTH,
) -> Ewma:
    """Each new average is weight * value + (1 - weight) * the one before, from `start`, the target.

    Limits start -+ width * sd * sqrt(weight / (2 - weight)), those of a long series; `sd` is that
    of one value, known from before. Raises ValueError for a weight outside (0, 1] or a negative sd.
    Source: NIST/SEMATECH e-Handbook 6.3.2.4.
    """
    if not (0 < weight <= 1 and 0 <= sd < math.inf and 0 < width < math.inf):
        raise ValueError(
            f"an EWMA with weight {weight}, sd {sd} and width {width}; the weight lies over 0 and "
            "up to 1, the sd is not negative, the width positive"
        )
    averages = [float(start)]
    for value in values:
        averages.append(weight * float(value) + (1 - weight) * averages[-1])
    half = width * sd * math.sqrt(weight / (2 - weight))
    centre = averages[0]
    return Ewma(_chart(averages, centre, centre - half, centre + half), weight, sd)


def mean_and_range(groups: Sequence[Sequence[Real]]) -> Subgroups:
    """Subgroups of one size by their ranges: limits A2, D3 and D4 times the mean range; sigma is
    mean range / d2.

    Raises ValueError for no group, groups of several sizes or of fewer than 2 values. Source:
    NIST/SEMATECH e-Handbook 6.3.2.1.
    """
    return _subgroups(groups, _range, A2, (D3, D4), d2)


def mean_and_sd(groups: Sequence[Sequence[Real]]) -> Subgroups:
    """As `mean_and_range`, by sample standard deviations: A3, B3, B4; sigma is mean sd / c4."""
    return _subgroups(groups, sd, A3, (B3, B4), c4)


def _subgroups(
    groups: Sequence[Sequence[Real]],
    spread: Callable[[Sequence[Real]], float],
    width: Callable[[int], float],
    limits: tuple[Callable[[int], float], Callable[[int], float]],
    unbias: Callable[[int], float],
) -> Subgroups:
    sizes = {len(group) for group in groups}
    if len(sizes) != 1 or min(sizes) < 2:
        raise ValueError(
            f"subgroups of {sorted(sizes) or 'no'} values; all need one size, of 2 or more"
        )
    size = sizes.pop()
    spreads = [spread(group) for group in groups]
    centre, level = mean([exact_mean(group) for group in groups]), mean(spreads)
    half = width(size) * level
    low, high = limits
    return Subgroups(
        size,
        _chart([mean(group) for group in groups], centre, centre - half, centre + half),
        _chart(spreads, level, low(size) * level, high(size) * level),
        level / unbias(size),
    )


def _chart(values: Sequence[float], centre: float, low: float, high: float) -> ControlChart:
    # A value that stands on a limit must not fall out by the last digit of a float.
    slack = 1e-12 * max(abs(low), abs(high))
    out = tuple(
        index for index, value in enumerate(values) if not low - slack <= value <= high + slack
    )
    return ControlChart(tuple(values), centre, low, high, out)


def _baseline(values: Sequence[Real], baseline: int | None) -> Sequence[Real]:
    base = values if baseline is None else values[:baseline]
    if len(base) < 2 or (baseline is not None and baseline > len(values)):
        raise ValueError(
            f"limits from {len(values) if baseline is None else baseline} of {len(values)} values; "
            "it takes 2 or more, and not more than there are"
        )
    return base


def _moves(values: Sequence[Real]) -> list[Fraction]:
    return [abs(_exact(after) - _exact(before)) for before, after in pairwise(values)]


def _range(values: Sequence[Real]) -> float:
    exact = [_exact(value) for value in values]
    return float(max(exact) - min(exact))


def _exact(value: Real) -> Fraction:
    return exact_mean([value])
