"""Control charts of single values and of their moving ranges. Pure.

Values as in `samples`; what comes out are floats in their unit. `out` are positions, from 0. A
point on a limit is inside.
"""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

import msgspec

from daq.metrology.statistics.constants import D4, d2
from daq.metrology.statistics.samples import Real, exact_mean, mean


class ControlChart(msgspec.Struct, frozen=True):
    """A centre line with limits, the plotted values, and which of them lie outside."""

    values: tuple[float, ...]
    centre: float
    low: float
    high: float
    out: tuple[int, ...]


def individuals(
    values: Sequence[Real], baseline: int | None = None, least_range: float = 0.0
) -> ControlChart:
    """Mean -+ 3 * mean moving range / d2(2); limits from the first `baseline` values, else all.

    Neighbours only, never the overall standard deviation: a drift would widen its own limits.
    `least_range` stands for a mean moving range under it. Raises ValueError for fewer than 2
    values. Source: NIST/SEMATECH e-Handbook 6.3.2.2.
    """
    base = _baseline(values, baseline)
    half = 3 * max(mean(_moves(base)), least_range) / d2(2)
    centre = mean(base)
    return _chart([float(value) for value in values], centre, centre - half, centre + half)


def moving_range(
    values: Sequence[Real], baseline: int | None = None, least_range: float = 0.0
) -> ControlChart:
    """Ranges of neighbours, one fewer than values; limits 0 and D4(2) * their mean.

    `baseline` and `least_range` as in `individuals`; the centre is what the limit is made of.
    Raises ValueError for fewer than 2 values. Source: NIST/SEMATECH e-Handbook 6.3.2.2.
    """
    centre = max(mean(_moves(_baseline(values, baseline))), least_range)
    return _chart([float(move) for move in _moves(values)], centre, 0.0, centre * D4(2))


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


def _exact(value: Real) -> Fraction:
    return exact_mean([value])
