"""The average and range method against its published worked example."""

import math
from decimal import Decimal

import pytest

from daq.metrology.statistics.range_study import average_and_range
from tests.daq.metrology.statistics.tables import near, study

# AIAG, Measurement systems analysis, worked example (from memory). The published factors have four
# digits (0.5908, 0.5231, 0.3146), ours all: 1 part in 6000 on the parts.
FACTORS = 2e-4


def test_sheet() -> None:
    found = average_and_range(study())
    close = near(5e-5)
    assert found.operator_ranges == pytest.approx((0.184, 0.513, 0.328), rel=1e-12)
    assert found.mean_range == close(0.3417)
    assert found.mean_difference == close(0.4447)
    assert found.part_range == near(5e-4)(3.511)
    assert (found.parts, found.operators, found.trials) == (10, 3, 3)


def test_factors() -> None:
    found = average_and_range(study())
    close = near(5e-5)
    assert (found.k1, found.k2, found.k3) == (close(0.5908), close(0.5231), close(0.3146))


def test_results() -> None:
    scatter = average_and_range(study()).scatter
    close = near(1e-4)
    assert scatter.repeatability == close(0.20188)
    assert scatter.reproducibility == close(0.22963)
    assert scatter.gauge == close(0.30575)
    assert scatter.parts == pytest.approx(1.10456, rel=FACTORS)
    assert scatter.total == pytest.approx(1.14610, rel=FACTORS)
    # with the published factor instead
    assert average_and_range(study()).part_range * 0.3146 == close(1.10456)


def test_percentages_and_categories() -> None:
    scatter = average_and_range(study()).scatter
    close = near(0.02)
    assert scatter.percent(scatter.repeatability) == close(17.62)
    assert scatter.percent(scatter.reproducibility) == close(20.04)
    assert scatter.percent(scatter.gauge) == close(26.68)
    assert scatter.percent(scatter.parts) == close(96.37)
    assert scatter.categories == 5


def test_negative_operators_are_zero_and_named() -> None:
    # by hand: both operators average the same, so AV^2 = 0 - EV^2 / (parts * trials)
    sizes = [[[0, 2], [2, 0]], [[10, 12], [12, 10]]]
    found = average_and_range(sizes)
    assert found.mean_difference == 0
    assert found.scatter.zeroed == ("operators",)
    assert found.scatter.reproducibility == 0
    ev = found.scatter.repeatability
    assert found.scatter.components[1].estimate == pytest.approx(-ev * ev / 4)


def test_operators_are_freed_of_the_repeatability_by_how_often_it_counts() -> None:
    # by hand: 5 parts, 2 operators 3 apart, 4 trials with a range of 1
    sizes = [[[x, x, x, x + 1] for x in (part, part + 3)] for part in (0, 2, 4, 6, 8)]
    found = average_and_range(sizes)
    assert (found.mean_range, found.mean_difference, found.part_range) == (1, 3, 8)
    ev = found.k1
    assert found.scatter.repeatability == pytest.approx(ev)
    assert found.scatter.reproducibility == pytest.approx(math.sqrt(9 / 2 - ev * ev / 20))
    assert found.scatter.parts == pytest.approx(8 * found.k3)


def test_few_ranges_take_the_corrected_factor() -> None:
    # derived: 4 ranges of 2, 1 / sqrt(d2^2 + d3^2 / 4), with d2^2 = 4 / pi and d3^2 = 2 - 4 / pi
    found = average_and_range([[[0, 2], [2, 0]], [[10, 12], [12, 10]]])
    assert found.k1 == pytest.approx(1 / math.sqrt(4 / math.pi + (2 - 4 / math.pi) / 4))
    assert found.k2 == found.k3 == pytest.approx(math.sqrt(0.5))


def test_without_any_scatter() -> None:
    found = average_and_range([[[Decimal("59.97")] * 2] * 2] * 3)
    assert (found.scatter.total, found.scatter.categories) == (0, None)


def test_a_study_with_holes_is_refused() -> None:
    with pytest.raises(ValueError, match="holes"):
        average_and_range([[[1, 2], [1]], [[1, 2], [1, 2]]])
