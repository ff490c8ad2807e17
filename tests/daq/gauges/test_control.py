"""Control of bias and precision on the stack, against the handbook's numbers and scipy."""

import math
import statistics
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.gauges.control import (
    ALPHA,
    IN,
    LEAST_BASELINE,
    MOST_BASELINE,
    OUT,
    TOO_FEW,
    baseline_of,
    control_of,
    pooled_sd,
    precisions,
)
from daq.gauges.history import CheckRecord
from daq.gauges.series import OCCASION_US, Series, error_at_20c, series_of
from tests.daq.gauges.history_builders import (
    DAY_US,
    FIRST_US,
    HOUR_US,
    adjusted,
    at,
    check,
    daily,
    near,
)

STEADY = (0.4, 0.9, 0.2, 0.7, 0.5, 0.3, 0.8)
"""Errors in um, seven occasions."""


def only(checks: Sequence[CheckRecord]) -> Series:
    (series,) = series_of(daily(checks))
    return series


# NIST/SEMATECH e-Handbook 2.3.5.2: baseline mean, sd with K - 1, limits by t.


def test_the_limits_are_mean_and_sample_sd_times_t_with_k_minus_1() -> None:
    """2.3.5.2, example: alpha = 0.05, K = 6, t = 2.5706."""
    errors = [0.0004, 0.0009, 0.0002, 0.0007, 0.0005, 0.0003]
    baseline = baseline_of(errors, step_mm=0.00001, alpha=0.05)
    assert baseline.mean_mm == pytest.approx(statistics.fmean(errors), rel=1e-12)
    assert baseline.sd_mm == pytest.approx(statistics.stdev(errors), rel=1e-12)
    half = (baseline.high_mm - baseline.low_mm) / 2
    assert half / baseline.sd_mm == pytest.approx(2.5706, abs=5e-5)
    assert not baseline.is_floored


def test_errors_that_agree_better_than_the_resolution_get_its_scatter_instead() -> None:
    """A gauge that shows 59.970 six times has not proven that it never shows 59.971. The standard
    deviation of a value shown in steps is step / sqrt(12): JCGM 100:2008, F.2.2.1.
    """
    baseline = baseline_of([0.0] * 6, step_mm=0.001)
    assert baseline.is_floored
    assert baseline.sd_mm == pytest.approx(0.001 / math.sqrt(12))
    assert baseline.holds(0.001)
    assert not baseline.holds(0.002)


def test_fewer_than_six_occasions_give_no_verdict() -> None:
    control = control_of(only([near(error) for error in STEADY[:LEAST_BASELINE]]), 0)
    assert control.state == TOO_FEW
    assert [mark.is_in for mark in control.marks] == [None] * LEAST_BASELINE
    assert control.next_baseline is not None


def test_the_seventh_is_judged_by_the_first_six() -> None:
    good = control_of(only([near(error) for error in STEADY]), 0)
    assert good.state == IN
    bad = control_of(only([near(error) for error in (*STEADY[:6], 2.5)]), 0)
    assert bad.state == OUT
    baseline = bad.marks[-1].baseline
    assert baseline is not None
    assert baseline.count == 6
    # Mean 0.5 um, s = sqrt(0.34 / 5) = 0.26077 um, t(0.995, 5) = 4.0321: 0.5 + 1.05145 = 1.55145.
    assert baseline.high_mm == pytest.approx(0.00155145, abs=2e-8)


def test_an_occasion_out_of_control_does_not_widen_the_limits_of_the_next() -> None:
    control = control_of(only([near(error) for error in (*STEADY[:6], 2.5, 2.5, 2.5)]), 0)
    assert [mark.is_in for mark in control.marks[6:]] == [False, False, False]
    assert control.next_baseline == control.marks[6].baseline


def test_later_occasions_do_not_move_a_full_baseline() -> None:
    errors = [0.4 + 0.2 * (place % 3) for place in range(MOST_BASELINE + 15)]
    control = control_of(only([near(error) for error in errors]), 0)
    counts = [mark.baseline.count for mark in control.marks if mark.baseline is not None]
    assert max(counts) == MOST_BASELINE
    assert control.next_baseline == control.marks[-1].baseline


def test_a_failed_check_is_no_part_of_a_baseline_that_is_still_being_made() -> None:
    control = control_of(only([near(9.0), *(near(error) for error in STEADY)]), 0)
    baseline = control.next_baseline
    assert baseline is not None
    assert baseline.high_mm < 0.002


def test_checks_within_four_hours_are_one_occasion_and_its_last_counts() -> None:
    history = at(
        (FIRST_US + day * DAY_US + hour * HOUR_US, near(day + hour / 10))
        for day in range(3)
        for hour in (0, 1, 3)
    )
    (series,) = series_of(history)
    assert [point.is_occasion for point in series.points] == [False, False, True] * 3
    assert [round(m.point.error_mm * 1000, 6) for m in control_of(series, 0).marks] == [
        0.3,
        1.3,
        2.3,
    ]


def test_an_occasion_ends_four_hours_after_it_began_however_densely_it_is_checked() -> None:
    step = OCCASION_US // 8
    (series,) = series_of(at((FIRST_US + n * step, near(0.1)) for n in range(17)))
    assert [n for n, point in enumerate(series.points) if point.is_occasion] == [7, 15, 16]


def test_an_adjusted_gauge_begins_a_new_baseline() -> None:
    """A re-zero breaks the chain: errors before it say nothing of what is to be expected now."""
    before = [near(error) for error in STEADY]
    history = daily([*before, adjusted(), *(near(error + 3) for error in STEADY)])
    (series,) = series_of(history)
    control = control_of(series, 1)
    assert control.state == IN
    assert [mark.is_in for mark in control.marks] == [*[None] * 6, True, *[None] * 6, True]
    unsaid = daily([*before, *(near(error + 3) for error in STEADY)])
    assert control_of(series_of(unsaid)[0], 0).state == OUT


def test_right_after_an_adjustment_nothing_is_known() -> None:
    (series,) = series_of(daily([*(near(error) for error in STEADY), adjusted()]))
    assert control_of(series, 1).state == TOO_FEW
    assert control_of(series, 1).next_baseline is None


def test_sizes_apart_are_judged_apart_and_near_ones_together() -> None:
    history = daily([near(0.1), near(0.2, "50.780"), near(0.3, "59.97012"), near(0.4, "59.985")])
    sizes = [(str(series.size_mm), len(series.points)) for series in series_of(history)]
    assert sizes == [("50.780", 1), ("59.97012", 2), ("59.985", 1)]


# NIST/SEMATECH e-Handbook 2.3.5.1: F limit for precision.


def spread_check(half_um: float) -> CheckRecord:
    """Four readings, degrees of freedom 3, with standard deviation half_um * 2 / sqrt(3)."""
    away = half_um / 1000
    values = (59.97 - away, 59.97 - away, 59.97 + away, 59.97 + away)
    return check(*(f"{value:.6f}" for value in values), step="0.000001")


def test_the_precision_limit_of_balance_12_is_the_handbooks() -> None:
    """2.3.5.1: 117 calibrations of 3 degrees of freedom, nu = 351, F(0.99; 3, 351) = 3.83787, so
    the limit is 1.95905 times the pooled standard deviation.
    """
    (series,) = series_of(daily([spread_check(1.0)] * 118))
    *_, last = precisions(series.points)
    assert last.pooled_dof == 351
    assert last.limit_mm / last.pooled_mm == pytest.approx(1.95905, abs=1e-5)
    assert ALPHA == 0.01


@pytest.mark.parametrize(("half_um", "is_in"), [(1.95, True), (1.97, False)])
def test_a_scatter_over_the_limit_is_out(half_um: float, is_in: bool) -> None:
    (series,) = series_of(daily([*[spread_check(1.0)] * 117, spread_check(half_um)]))
    *_, last = precisions(series.points)
    assert last.is_in is is_in


def test_a_scatter_that_is_out_is_not_pooled() -> None:
    (series,) = series_of(daily([*[spread_check(1.0)] * 20, spread_check(9.0), spread_check(1.0)]))
    *_, last = precisions(series.points)
    assert last.pooled_dof == 60
    assert last.pooled_mm == pytest.approx(0.002 / math.sqrt(3), rel=1e-3)


def test_standard_deviations_are_pooled_by_degrees_of_freedom_never_averaged() -> None:
    """e-Handbook 2.4.4: sums of squares 0.48115 0.69209 0.48483 1.21752 0.30076, nu = 60 each, give
    sqrt(3.17635 / 300) = 0.10290; the mean of the five standard deviations is 0.09949.
    """
    squares = (0.48115, 0.69209, 0.48483, 1.21752, 0.30076)
    checks = []
    for square in squares:
        # 61 readings: 60 at +-d about the size and one on it, so that the sum of squares is 60 d^2.
        away = math.sqrt(square / 60)
        values = [60 - away] * 30 + [60.0] + [60 + away] * 30
        checks.append(check(*(f"{v:.9f}" for v in values), size="60.000", step="0.000001"))
    (series,) = series_of(daily(checks))
    sd, dof = pooled_sd(series.points)
    assert dof == 300
    assert sd == pytest.approx(0.10290, abs=5e-6)


def test_one_reading_shows_no_scatter() -> None:
    (series,) = series_of(daily([check("59.971")] * 9))
    assert list(precisions(series.points)) == []
    assert pooled_sd(series.points) == (0.0, 0)


@given(st.lists(st.floats(-5, 5).map(lambda um: round(um, 3)), min_size=7, max_size=30))
def test_limits_agree_with_scipy(errors: list[float]) -> None:
    from scipy import stats

    for mark in control_of(only([near(error, limit="1") for error in errors]), 0).marks:
        baseline = mark.baseline
        if baseline is not None and not baseline.is_floored:
            low, high = stats.t.interval(
                0.99, baseline.count - 1, loc=baseline.mean_mm, scale=baseline.sd_mm
            )
            assert baseline.low_mm == pytest.approx(low, rel=1e-9, abs=1e-12)
            assert baseline.high_mm == pytest.approx(high, rel=1e-9, abs=1e-12)


# Errors: their sign, and the temperature that they are stated at.


def test_error_is_indication_minus_true_size() -> None:
    assert only([check("59.972")]).last.error_mm == pytest.approx(+0.002)
    assert only([check("59.968")]).last.error_mm == pytest.approx(-0.002)


def test_both_at_one_temperature_and_of_one_material_correct_nothing() -> None:
    warm = check("59.972", temperatures=("27", "27"))
    assert error_at_20c(warm) == error_at_20c(check("59.972"))


def test_a_warm_stack_would_make_the_gauge_look_wrong_and_does_not() -> None:
    """59.970 mm * 11.5e-6 /K * 2 K = 0.00137931 mm longer: derived, ISO 1."""
    warm = check("59.972", temperatures=("20", "22"))
    assert float(error_at_20c(warm)) == pytest.approx(0.002 - 0.00137931, abs=1e-12)


def test_a_warm_gauge_shows_less_and_that_is_given_back() -> None:
    warm = check("59.972", temperatures=("22", "20"))
    assert float(error_at_20c(warm)) == pytest.approx(0.002 + 0.00137931, abs=1e-12)


def test_one_temperature_alone_corrects_nothing() -> None:
    assert error_at_20c(check("59.972", temperatures=("", "25"))) == error_at_20c(check("59.972"))
