"""Control charts against the examples of the NIST e-Handbook and real diameters."""

from collections.abc import Sequence
from decimal import Decimal

import pytest

from daq.metrology.statistics.charts import (
    E2,
    ewma,
    individuals,
    mean_and_range,
    mean_and_sd,
    moving_range,
)
from daq.metrology.statistics.samples import Real, mean, sd
from tests.daq.metrology.statistics.tables import near, rings

# NIST/SEMATECH e-Handbook 6.3.2.2
LATER = "49.6 47.6 49.9 51.3 47.8 51.2 52.6 52.4 53.6 52.1"
FLOW = [Decimal(x) for x in LATER.split()]
# NIST/SEMATECH e-Handbook 6.3.2.4
BEFORE = "52.0 47.0 53.0 49.3 50.1 47.0 51.0 50.1 51.2 50.5"
STREAM = [*map(Decimal, BEFORE.split()), *FLOW]


class TestIndividuals:
    def test_mean_and_mean_moving_range(self) -> None:
        # e-Handbook 6.3.2.2: 50.81 and 1.8778
        assert individuals(FLOW).centre == near(5e-5)(50.81)
        chart = moving_range(FLOW)
        assert chart.centre == near(5e-5)(1.8778)
        assert chart.values == (2.0, 2.3, 1.4, 3.5, 3.4, 1.4, 0.2, 1.2, 1.5)

    def test_limits_with_the_table_constant(self) -> None:
        # e-Handbook 6.3.2.2: 55.8041 and 45.8159 by 1.128
        chart = individuals(FLOW, divisor=1.128)
        assert (chart.high, chart.low) == (near(5e-5)(55.8041), near(5e-5)(45.8159))
        assert chart.is_in_control

    def test_limits_with_the_exact_constant(self) -> None:
        # derived: 2 / sqrt(pi) in place of 1.128
        chart = individuals(FLOW)
        assert (chart.high, chart.low) == (near(5e-5)(55.8024), near(5e-5)(45.8176))
        assert chart.high - chart.centre == pytest.approx(E2(2) * moving_range(FLOW).centre)

    def test_limit_of_moving_ranges(self) -> None:
        # derived: D4 = 3.267 as in tables; 3 d3 / d2 + 1 exactly
        assert moving_range(FLOW, factor=3.267).high == near(5e-5)(6.1347)
        assert moving_range(FLOW).high == near(5e-5)(3.266532 * 1.877778)
        assert moving_range(FLOW).low == 0

    def test_limits_are_not_from_the_overall_scatter(self) -> None:
        # the mistake: 3 sd gives 44.708 to 56.912 (derived)
        assert 50.81 - 3 * sd(FLOW) == near(5e-4)(44.708)
        drift: Sequence[Real] = [Decimal(step) / 10 + step % 2 for step in range(40)]
        wrong = 3 * sd(drift)
        assert max(abs(float(x) - mean(drift)) for x in drift) < wrong
        early = individuals(drift, baseline=10)
        assert early.out
        assert early.out[-1] == 39

    def test_a_jump_is_found_where_it_is(self) -> None:
        values = [*FLOW, Decimal(70), *FLOW]
        assert individuals(values, baseline=10).out == (10,)
        assert individuals(values, baseline=10).high == individuals(FLOW).high
        assert moving_range(values, baseline=10).out == (9, 10)

    def test_equal_values_stand_on_their_limits(self) -> None:
        chart = individuals([Decimal("25.0007")] * 5)
        assert chart.low == chart.high == chart.centre
        assert chart.is_in_control
        assert moving_range([0.1, 0.1, 0.1]).is_in_control

    @pytest.mark.parametrize(("count", "baseline"), [(1, None), (0, None), (5, 1), (5, 6)])
    def test_too_few_values(self, count: int, baseline: int | None) -> None:
        for chart in (individuals, moving_range):
            with pytest.raises(ValueError, match="2 or more"):
                chart(FLOW[:count], baseline)


class TestEwma:
    def test_handbook_values(self) -> None:
        # e-Handbook 6.3.2.4; printed to 2 decimals
        printed = (
            "50.00 50.60 49.52 50.56 50.18 50.16 49.21 49.75 49.85 50.26 50.33 50.11 49.36 49.52 "
            "50.05 49.38 49.92 50.73 51.23 51.94 51.99"
        )
        found = ewma(STREAM, 50, 2.0539)
        assert found.chart.values == pytest.approx([*map(float, printed.split())], abs=0.00501)
        assert found.chart.is_in_control

    def test_handbook_limits(self) -> None:
        # e-Handbook 6.3.2.4 prints 52.5884 and 47.4115 (cut); unrounded 52.58843, 47.41157
        chart = ewma(STREAM, 50, 2.0539).chart
        assert (chart.high, chart.low) == (near(5e-5)(52.58843), near(5e-5)(47.41157))

    def test_a_slow_drift_is_found_before_a_single_value_is(self) -> None:
        values = [50 + 0.15 * step for step in range(30)]
        assert ewma(values, 50, 2.0).chart.out[0] < 26
        assert all(abs(value - 50) < 3 * 2.0 for value in values)

    def test_weight_one_is_the_values_themselves(self) -> None:
        chart = ewma([1, 2, 3], 0, 1.0, weight=1).chart
        assert list(chart.values) == [0, 1, 2, 3]
        assert chart.high == 3

    def test_a_value_on_a_limit_is_inside_whatever_floats_make_of_it(self) -> None:
        # 0.8 - 0.1 is a little over 0.7 in floats, 0.7 + 0.1 a little under 0.8
        assert ewma([0.7], 0.8, 0.1, weight=1, width=1).chart.is_in_control
        assert ewma([0.8], 0.7, 0.1, weight=1, width=1).chart.is_in_control
        assert ewma([0.699], 0.8, 0.1, weight=1, width=1).chart.out == (1,)

    @pytest.mark.parametrize(("sd", "weight"), [(1.0, 0.0), (1.0, 1.1), (-1.0, 0.3)])
    def test_senseless_settings(self, sd: float, weight: float) -> None:
        with pytest.raises(ValueError, match="EWMA"):
            ewma([1, 2], 0, sd, weight)


class TestSubgroups:
    # Montgomery, Introduction to SQC, table 6.3 (from memory); unrounded values derived.
    def test_means(self) -> None:
        close = near(5e-7)
        by_range, by_sd = mean_and_range(rings()), mean_and_sd(rings())
        assert by_range.means.centre == by_sd.means.centre == close(74.001176)
        assert by_range.spreads.centre == close(0.02324)
        assert by_sd.spreads.centre == close(0.0093995)
        # printed in the book's table: rows 1 and 11
        assert by_sd.means.values[0] == near(5.01e-4)(74.010)
        assert by_sd.spreads.values[0] == near(5.01e-5)(0.0148)
        assert by_sd.spreads.values[10] == near(5.01e-5)(0.0029)

    def test_limits(self) -> None:
        # the book prints 74.014 and 73.988 by either
        close = near(1e-6)
        by_range, by_sd = mean_and_range(rings()).means, mean_and_sd(rings()).means
        assert (by_range.high, by_range.low) == (close(74.014581), close(73.987771))
        assert (by_sd.high, by_sd.low) == (close(74.014592), close(73.987760))
        # with the three decimals of a table, A2 = 0.577
        assert by_range.centre + 0.577 * 0.02324 == close(74.014585)

    def test_sigma(self) -> None:
        # by 2.326 and 0.9400 of a table 0.009991 and 0.009999; exact c4 0.010000
        assert mean_and_range(rings()).sigma == near(2e-6)(0.009991)
        assert mean_and_sd(rings()).sigma == near(1e-6)(0.010000)

    def test_all_in_control(self) -> None:
        # as the book finds
        for chart in (mean_and_range(rings()), mean_and_sd(rings())):
            assert chart.means.is_in_control
            assert chart.spreads.is_in_control

    def test_a_shifted_and_a_wild_subgroup(self) -> None:
        groups = rings()
        groups[4] = [value + Decimal("0.03") for value in groups[4]]
        groups[9] = [Decimal(74) + sign * Decimal("0.05") for sign in (-1, 1, -1, 1, 0)]
        for chart in (mean_and_range(groups), mean_and_sd(groups)):
            assert chart.means.out == (4,)
            assert chart.spreads.out == (9,)

    @pytest.mark.parametrize("groups", [[], [[1]], [[1, 2], [1, 2, 3]]])
    def test_groups_of_one_size(self, groups: list[list[int]]) -> None:
        for chart in (mean_and_range, mean_and_sd):
            with pytest.raises(ValueError, match="one size, of 2 or more"):
                chart(groups)
