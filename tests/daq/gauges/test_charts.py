"""Individuals and moving-range charts against NIST/SEMATECH e-Handbook 6.3.2.2."""

import pytest

from daq.gauges.charts import GaugeChart, chart_of
from daq.gauges.control import control_of
from daq.gauges.history import History
from daq.gauges.series import series_of
from tests.daq.gauges.history_builders import check, daily, near

VALUES = ("49.6", "47.6", "49.9", "51.3", "47.8", "51.2", "52.6", "52.4", "53.6", "52.1")
"""The example's, taken as errors in um."""


def charted(history: History) -> GaugeChart:
    chart = chart_of(control_of(series_of(history)[0], 0), 0)
    assert chart is not None
    return chart


def handbook() -> GaugeChart:
    return charted(daily([near(float(value), limit="1", step="0.000001") for value in VALUES]))


def test_mean_and_mean_moving_range_are_the_handbooks() -> None:
    chart = handbook()
    assert chart.mean_mm * 1000 == pytest.approx(50.81, abs=5e-5)
    assert chart.range_mm * 1000 == pytest.approx(1.8778, abs=5e-5)


def test_limits_come_from_the_moving_range_not_from_the_overall_scatter() -> None:
    """With the exact d2 = 2 / sqrt(pi) 55.8024 and 45.8176 (the handbook, with 1.128: 55.8041 and
    45.8159); three overall standard deviations would give 56.912 and 44.708.
    """
    chart = handbook()
    assert chart.high_mm * 1000 == pytest.approx(55.8024, abs=5e-5)
    assert chart.low_mm * 1000 == pytest.approx(45.8176, abs=5e-5)
    assert chart.high_mm * 1000 == pytest.approx(55.8041, abs=2e-3)
    assert chart.out == ()


def test_the_moving_range_has_its_limit_too() -> None:
    """D4 = 3.2665 for two: 3.2665 * 1.87778 = 6.13376 (6.1347 with the rounded 3.267)."""
    assert handbook().range_high_mm * 1000 == pytest.approx(6.1347, abs=2e-3)
    assert handbook().range_out == ()


def test_a_jump_is_seen_in_both_charts() -> None:
    errors = [0.4, 0.9, 0.2, 0.7, 0.5, 0.3] * 4
    chart = charted(daily([near(error) for error in [*errors, 9.0]]))
    assert len(chart.out) == 1
    assert chart.range_out == chart.out


def test_equal_readings_do_not_make_limits_of_no_width() -> None:
    chart = charted(daily([check("59.970", "59.970")] * 8))
    assert chart.high_mm > 0.0005
    assert chart.out == ()


def test_five_occasions_make_no_chart() -> None:
    assert chart_of(control_of(series_of(daily([near(0.5)] * 5))[0], 0), 0) is None
