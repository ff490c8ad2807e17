"""Control charts against the example of the NIST e-Handbook."""

from collections.abc import Sequence
from decimal import Decimal

import pytest

from daq.metrology.statistics.charts import individuals, moving_range
from daq.metrology.statistics.constants import d2
from daq.metrology.statistics.samples import Real, mean, sd
from tests.daq.metrology.statistics.tables import near

# NIST/SEMATECH e-Handbook 6.3.2.2
LATER = "49.6 47.6 49.9 51.3 47.8 51.2 52.6 52.4 53.6 52.1"
FLOW = [Decimal(x) for x in LATER.split()]


def test_mean_and_mean_moving_range() -> None:
    # e-Handbook 6.3.2.2: 50.81 and 1.8778
    assert individuals(FLOW).centre == near(5e-5)(50.81)
    chart = moving_range(FLOW)
    assert chart.centre == near(5e-5)(1.8778)
    assert chart.values == (2.0, 2.3, 1.4, 3.5, 3.4, 1.4, 0.2, 1.2, 1.5)


def test_limits_with_the_table_constant() -> None:
    # e-Handbook 6.3.2.2: 55.8041 and 45.8159 by 1.128, the rounded d2
    chart = individuals(FLOW)
    half = (chart.high - chart.centre) * d2(2) / 1.128
    assert chart.centre + half == near(5e-5)(55.8041)
    assert chart.centre - half == near(5e-5)(45.8159)
    assert chart.out == ()


def test_limits_with_the_exact_constant() -> None:
    # derived: 2 / sqrt(pi) in place of 1.128
    chart = individuals(FLOW)
    assert (chart.high, chart.low) == (near(5e-5)(55.8024), near(5e-5)(45.8176))
    # tables: half the width is E2 = 3 / d2 = 2.6587 mean ranges
    assert chart.high - chart.centre == pytest.approx(2.6587 * 1.877778, rel=2e-5)


def test_limit_of_moving_ranges() -> None:
    # derived: D4 = 3.267 in tables gives 6.1347; 3 d3 / d2 + 1 exactly
    assert moving_range(FLOW).high * 3.267 / 3.266532 == near(5e-5)(6.1347)
    assert moving_range(FLOW).high == near(5e-5)(3.266532 * 1.877778)
    assert moving_range(FLOW).low == 0


def test_limits_are_not_from_the_overall_scatter() -> None:
    # the mistake: 3 sd gives 44.708 to 56.912 (derived)
    assert 50.81 - 3 * sd(FLOW) == near(5e-4)(44.708)
    drift: Sequence[Real] = [Decimal(step) / 10 + step % 2 for step in range(40)]
    wrong = 3 * sd(drift)
    assert max(abs(float(x) - mean(drift)) for x in drift) < wrong
    early = individuals(drift, baseline=10)
    assert early.out
    assert early.out[-1] == 39


def test_a_jump_is_found_where_it_is() -> None:
    values = [*FLOW, Decimal(70), *FLOW]
    assert individuals(values, baseline=10).out == (10,)
    assert individuals(values, baseline=10).high == individuals(FLOW).high
    assert moving_range(values, baseline=10).out == (9, 10)


def test_equal_values_stand_on_their_limits() -> None:
    chart = individuals([Decimal("25.0007")] * 5)
    assert chart.low == chart.high == chart.centre
    assert chart.out == ()
    assert moving_range([0.1, 0.1, 0.1]).out == ()


def test_a_least_range_stands_for_a_smaller_mean_range() -> None:
    # by hand: ranges 0, 0, 1 of mean 1/3; 2 / sqrt(pi) is d2(2), so 3 x d2 / d2 either side
    values = [0, 0, 0, 1]
    chart = individuals(values, least_range=d2(2))
    assert (chart.low, chart.high) == (near(1e-12)(0.25 - 3), near(1e-12)(0.25 + 3))
    ranges = moving_range(values, least_range=2.0)
    assert (ranges.centre, ranges.high) == (2.0, near(5e-6)(2 * 3.266532))
    for least in (0.0, 0.33):
        assert individuals(values, least_range=least) == individuals(values)
        assert moving_range(values, least_range=least) == moving_range(values)


@pytest.mark.parametrize(("count", "baseline"), [(1, None), (0, None), (5, 1), (5, 6)])
def test_too_few_values(count: int, baseline: int | None) -> None:
    for chart in (individuals, moving_range):
        with pytest.raises(ValueError, match="2 or more"):
            chart(FLOW[:count], baseline)
