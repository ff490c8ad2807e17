"""Least-squares lines against the NIST Statistical Reference Datasets and the GUM's example H.3."""

import math
from decimal import Decimal

import pytest

from daq.metrology.statistics.line import FittedLine, fit
from tests.daq.metrology.statistics.tables import near, rows

# JCGM 100:2008, table H.6: thermometer readings and corrections, degrees Celsius
READINGS_C = "21.521 22.012 22.512 23.003 23.507 23.999 24.513 25.002 25.503 26.010 26.511"
CORRECTIONS_C = "-.171 -.169 -.166 -.159 -.164 -.165 -.156 -.157 -.159 -.161 -.160"
READINGS, CORRECTIONS = READINGS_C.split(), CORRECTIONS_C.split()


def thermometer() -> FittedLine:
    return fit([Decimal(t) - 20 for t in READINGS], [*map(Decimal, CORRECTIONS)])


def test_norris() -> None:
    # NIST StRD Norris, certified
    table = rows("norris")
    line = fit([Decimal(row["x"]) for row in table], [Decimal(row["y"]) for row in table])
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-13)
    assert line.u_intercept == pytest.approx(0.232818234301152, rel=1e-13)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-13)
    assert line.u_slope == pytest.approx(0.429796848199937e-3, rel=1e-13)
    assert line.s == pytest.approx(0.884796396144373, rel=1e-13)
    assert line.r_squared == pytest.approx(0.999993745883712, rel=1e-13)
    assert line.dof == 34


def test_thermometer_of_the_gum() -> None:
    # JCGM 100:2008, H.3.3 and H.3.4 print -0.1712, 0.0029, 0.00218, 0.00067, -0.930, 0.0035 and,
    # at 30 degrees, -0.1494 and 0.0041 (from memory); further digits derived
    line = thermometer()
    assert line.intercept == near(1e-7)(-0.1712038)
    assert line.u_intercept == near(1e-7)(0.0028776)
    assert line.slope == near(1e-8)(0.00218270)
    assert line.u_slope == near(1e-8)(0.00066794)
    correlation = line.covariance / (line.u_intercept * line.u_slope)
    assert correlation == near(1e-6)(-0.930430)
    assert line.s == near(1e-7)(0.0034976)
    assert line.dof == 9
    assert line.predict(10) == (near(1e-6)(-0.149377), near(1e-6)(0.0041386))


def test_covariance_is_part_of_a_prediction() -> None:
    line = thermometer()
    _, u = line.predict(10)
    whole = line.u_intercept**2 + 100 * line.u_slope**2 + 2 * 10 * line.covariance
    assert u == pytest.approx(math.sqrt(whole), rel=1e-12)
    # derived: dropped, u comes out 76 % too large
    wrong = math.hypot(line.u_intercept, 10 * line.u_slope)
    assert wrong == near(5e-6)(0.00727)
    assert wrong / u == near(0.005)(1.76)


def test_a_scatter_known_from_elsewhere_widens_a_prediction() -> None:
    line = thermometer()
    value, u = line.predict(10)
    assert line.predict(10, 2 * line.s) == pytest.approx((value, 2 * u), rel=1e-15)


def test_thermometer_by_another_program() -> None:
    from GTC import type_a

    line = thermometer()
    other = type_a.line_fit([float(t) - 20 for t in READINGS], [*map(float, CORRECTIONS)])
    intercept, slope = other.a_b
    assert (line.intercept, line.u_intercept) == pytest.approx((intercept.x, intercept.u))
    assert (line.slope, line.u_slope) == pytest.approx((slope.x, slope.u))
    value = intercept + slope * 10
    assert line.predict(10) == pytest.approx((value.x, value.u))


def test_far_origin_costs_no_digits() -> None:
    # Times as microseconds since 1970: the slope is the same to the last digit.
    x = [0, 86_400_000_000, 200_000_000_000, 345_600_000_000]
    y = [Decimal("0.0001"), Decimal("0.0003"), Decimal("0.0002"), Decimal("0.0006")]
    near_by, far = fit(x, y), fit([1_790_000_000_000_000 + each for each in x], y)
    assert (far.slope, far.u_slope, far.s) == (near_by.slope, near_by.u_slope, near_by.s)
    moment = 300_000_000_000
    assert far.predict(1_790_000_000_000_000 + moment) == near_by.predict(moment)


def test_points_on_a_line_and_on_a_level() -> None:
    line = fit([1, 2, 3], [Decimal("0.1"), Decimal("0.2"), Decimal("0.3")])
    assert (line.intercept, line.slope, line.s, line.u_slope) == (0, 0.1, 0, 0)
    assert line.r_squared == 1
    level = fit([1, 2, 3], [5, 5, 5])
    assert (level.slope, level.s, level.r_squared) == (0, 0, None)


def test_senseless_points_are_refused() -> None:
    with pytest.raises(ValueError, match="2 points"):
        fit([1, 2], [1, 2])
    with pytest.raises(ValueError, match="3 x and 2 y"):
        fit([1, 2, 3], [1, 2])
    with pytest.raises(ValueError, match="same x"):
        fit([1, 1, 1], [1, 2, 3])
    with pytest.raises(ValueError, match="no finite number"):
        fit([1, 2, math.nan], [1, 2, 3])
