"""The micrometer's display and its errors."""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulator.gauge import Flags, Micrometer, Shown


def test_a_perfect_gauge_shows_the_size_to_its_resolution() -> None:
    shown = Micrometer().read(59.9803, 0.0)
    assert shown == Shown(Decimal("59.980"), "mm")
    assert str(shown.digits) == "59.980"


def test_inches_by_25_4_and_their_own_resolution() -> None:
    gauge = Micrometer(unit="in")
    # 59.982 / 25.4 = 2.361496...; nearest 0.00005 is 2.36150.
    assert str(gauge.read(59.982, 0.0).digits) == "2.36150"
    assert gauge.read(25.4, 0.0) == Shown(Decimal("1.00000"), "in")


@given(true_mm=st.floats(0.0, 300.0))
def test_a_perfect_gauge_is_within_half_a_step(true_mm: float) -> None:
    shown = Micrometer().read(true_mm, 0.0)
    assert abs(shown.digits - Decimal(repr(true_mm))) <= Decimal("0.0005")
    inches = Micrometer(unit="in").read(true_mm, 0.0)
    assert abs(float(inches.digits) * 25.4 - true_mm) <= 0.000025 * 25.4 + 1e-9


def test_unit_button_there_and_back() -> None:
    gauge = Micrometer()
    gauge.switch_unit()
    assert gauge.unit == gauge.read(25.4, 0.0).unit == "in"
    gauge.switch_unit()
    assert gauge.unit == gauge.read(25.4, 0.0).unit == "mm"


def test_positive_bias_reads_large() -> None:
    assert str(Micrometer(bias_mm=0.003).read(50.0, 0.0).digits) == "50.003"
    assert str(Micrometer(bias_mm=-0.003).read(50.0, 0.0).digits) == "49.997"


def test_drift_grows_with_time() -> None:
    gauge = Micrometer(drift_mm_per_hour=0.004)
    shown = [str(gauge.read(50.0, at_s).digits) for at_s in (0.0, 1800.0, 3600.0)]
    assert shown == ["50.000", "50.002", "50.004"]


def test_scatter_has_the_given_standard_deviation_and_no_bias() -> None:
    gauge = Micrometer(resolution_mm="0.000001", repeatability_mm=0.0005, seed=4)
    errors = [float(gauge.read(50.0, 0.0).digits) - 50.0 for _ in range(4000)]
    # Of 4000 draws the deviation strays by 1.1 %, the mean by 8e-6, at one standard error.
    assert statistics.stdev(errors) == pytest.approx(0.0005, rel=0.05)
    assert statistics.fmean(errors) == pytest.approx(0.0, abs=4e-5)


def test_equal_seeds_equal_readings() -> None:
    def readings(seed: int) -> list[Shown]:
        gauge = Micrometer(repeatability_mm=0.002, seed=seed)
        return [gauge.read(50.0, 0.0) for _ in range(20)]

    assert readings(7) == readings(7)
    assert readings(7) != readings(8)


def test_rezero_removes_bias_and_drift_so_far() -> None:
    gauge = Micrometer(bias_mm=0.005, drift_mm_per_hour=0.010)
    assert str(gauge.read(59.97, 3600.0).digits) == "59.985"
    assert gauge.flags == Flags(zeroed=False)
    gauge.rezero(59.97, 3600.0)
    assert str(gauge.read(59.97, 3600.0).digits) == "59.970"
    assert gauge.flags == Flags(zeroed=True)
    # The cause of the drift is still there.
    assert str(gauge.read(59.97, 7200.0).digits) == "59.980"


def test_a_change_of_drift_makes_no_jump() -> None:
    gauge = Micrometer(drift_mm_per_hour=0.010)
    gauge.set_drift(-0.010, 3600.0)
    assert gauge.error_mm(3600.0) == pytest.approx(0.010)
    assert gauge.error_mm(7200.0) == pytest.approx(0.0)


def test_a_set_bias_stands_for_the_whole_error_of_the_moment() -> None:
    gauge = Micrometer(bias_mm=0.001, drift_mm_per_hour=0.010)
    gauge.set_bias(0.002, 3600.0)
    assert gauge.error_mm(3600.0) == pytest.approx(0.002)
    assert gauge.error_mm(7200.0) == pytest.approx(0.012)


def test_low_battery_flag() -> None:
    assert Micrometer(low_battery=True).flags == Flags(low_battery=True)


@pytest.mark.parametrize(
    ("use", "reason"),
    [
        (lambda: Micrometer(resolution_mm="0"), "above zero"),
        (lambda: Micrometer(resolution_in="-0.00005"), "above zero"),
        (lambda: Micrometer(resolution_mm="fine"), "decimal number"),
        (lambda: Micrometer(resolution_mm="NaN"), "above zero"),
        (lambda: Micrometer(repeatability_mm=-0.001), "never negative"),
        (lambda: Micrometer(bias_mm=math.nan), "bias_mm"),
        (lambda: Micrometer(drift_mm_per_hour=math.inf), "drift_mm_per_hour"),
        (lambda: Micrometer(unit="cm"), "mm or in"),  # type: ignore[arg-type]
        (lambda: Micrometer().read(math.nan, 0.0), "true_mm"),
        (lambda: Micrometer().read(50.0, math.inf), "at_s"),
        (lambda: Micrometer().rezero(0.0, 0.0), "above zero"),
        (lambda: Micrometer().set_drift(math.nan, 0.0), "mm_per_hour"),
    ],
)
def test_settings_no_gauge_has(use: Callable[[], object], reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        use()
