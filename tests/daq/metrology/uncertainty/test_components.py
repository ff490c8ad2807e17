"""Standard uncertainties from what is stated, and what a component refuses to be."""

import math

import pytest

from daq.metrology.uncertainty.components import (
    Component,
    arcsine,
    dof_from_reliability,
    expanded,
    from_t,
    product_term,
    rectangular,
    triangular,
)


def test_limits_become_standard_uncertainties() -> None:
    # JCGM 100:2008, H.1: +-1e-6 /C rectangular -> 0.58e-6, +-2e-6 -> 1.2e-6, +-0.05 C -> 0.029,
    # +-0.5 C swing -> 0.35
    assert rectangular(1e-6) == pytest.approx(0.58e-6, abs=0.005e-6)
    assert rectangular(2e-6) == pytest.approx(1.2e-6, abs=0.05e-6)
    assert rectangular(0.05) == pytest.approx(0.029, abs=0.0005)
    assert arcsine(0.5) == pytest.approx(0.35, abs=0.005)


def test_limits_agree_with_the_second_moments() -> None:
    # derived: mean square of each density over -1 to 1, by the midpoint rule
    panels = 20_000
    middles = [(2 * n + 1) / panels - 1 for n in range(panels)]
    width = 2 / panels
    flat = math.fsum(x * x * 0.5 * width for x in middles)
    tent = math.fsum(x * x * (1 - abs(x)) * width for x in middles)
    swing = math.fsum(math.sin(math.pi * x) ** 2 for x in middles) / panels
    assert rectangular(1) == pytest.approx(math.sqrt(flat), rel=1e-6)
    assert triangular(1) == pytest.approx(math.sqrt(tent), rel=1e-6)
    assert arcsine(1) == pytest.approx(math.sqrt(swing), rel=1e-6)


def test_a_half_width_is_no_standard_uncertainty() -> None:
    # mistakes: half width used as u, arcsine taken as rectangular
    assert rectangular(1.0) == pytest.approx(1 / 3**0.5)
    assert arcsine(1.0) == pytest.approx(1 / 2**0.5)
    assert triangular(1.0) < rectangular(1.0) < arcsine(1.0) < 1.0


def test_an_expanded_uncertainty_is_divided_by_its_own_factor() -> None:
    # JCGM 100:2008, H.1: U = 75 nm, k = 3 -> 25 nm. Mistake: U taken as u, or k = 2 taken for all
    assert expanded(75, 3) == 25
    assert expanded(75, 2) == 37.5
    for k in (0, -1, math.nan):
        with pytest.raises(ValueError, match="coverage factor"):
            expanded(75, k)


def test_an_interval_by_students_t() -> None:
    # JCGM 100:2008, H.1: 10 nm at 95 % with 5 degrees of freedom, t = 2.57 -> 3.9 nm
    assert from_t(10, 5, 0.95) == pytest.approx(3.9, abs=0.05)
    assert from_t(10, 5, 0.95) == pytest.approx(10 / 2.57, rel=1e-3)


@pytest.mark.parametrize(("relative", "dof"), [(0.25, 8), (0.10, 50), (0.50, 2)])
def test_degrees_of_freedom_of_a_judgement(relative: float, dof: int) -> None:
    # JCGM 100:2008, H.1.3.2, H.1.3.5, H.1.3.6: reliable to 25 %, 10 %, 50 % -> 8, 50, 2
    assert dof_from_reliability(relative) == pytest.approx(dof, rel=1e-12)


@pytest.mark.parametrize("relative", [0.0, -0.1, math.nan])
def test_a_reliability_is_over_zero(relative: float) -> None:
    with pytest.raises(ValueError, match="reliability"):
        dof_from_reliability(relative)


def test_a_product_of_two_small_things() -> None:
    # JCGM 100:2008, H.1.7 (from memory): ls u(da) u(theta) = 50e6 nm x 0.58e-6 x 0.41 = 11.9 nm
    # (it prints 11.7 nm); exactly 50e6 x 1e-6 / sqrt(3) x sqrt(0.2**2 + 0.5**2 / 2) = 11.7 nm
    theta = math.hypot(0.2, arcsine(0.5))
    found = product_term("second order", rectangular(1e-6), theta, 50.0)
    assert found.contribution_mm * 1e6 == pytest.approx(11.7, abs=0.05)
    assert found.dof == math.inf
    assert found.kind == "B"
    assert found.note == "product of two uncertainties"
    assert product_term("second order", 1, 1, 1, "of T").note == "of T"


def test_a_product_has_the_variance_of_a_product() -> None:
    # derived: mean of (x y)**2 over a grid of two rectangular distributions, +-3 and +-0.5
    grid = [(2 * n + 1) / 400 - 1 for n in range(400)]
    exact = math.fsum((3 * x * 0.5 * y) ** 2 for x in grid for y in grid) / len(grid) ** 2
    found = product_term("p", rectangular(3), rectangular(0.5), 1.0)
    assert found.contribution_mm == pytest.approx(math.sqrt(exact), rel=1e-5)


def test_a_contribution_has_no_sign() -> None:
    part = Component(name="t", estimate="0 K", u=0.3, unit="K", sensitivity=-0.0007)
    assert part.contribution_mm == pytest.approx(0.00021, rel=1e-12)


@pytest.mark.parametrize("u", [-0.1, math.nan, math.inf])
def test_a_component_refuses_such_an_uncertainty(u: float) -> None:
    with pytest.raises(ValueError, match="stack: a standard uncertainty"):
        Component(name="stack", estimate="", u=u, unit="mm", sensitivity=1)


@pytest.mark.parametrize("sensitivity", [math.nan, math.inf])
def test_a_component_refuses_such_a_sensitivity(sensitivity: float) -> None:
    with pytest.raises(ValueError, match="stack: a sensitivity"):
        Component(name="stack", estimate="", u=1, unit="mm", sensitivity=sensitivity)


@pytest.mark.parametrize("dof", [0, -1, 0.99, math.nan])
def test_a_component_refuses_such_degrees_of_freedom(dof: float) -> None:
    with pytest.raises(ValueError, match="degrees of freedom"):
        Component(name="stack", estimate="", u=1, unit="mm", sensitivity=1, dof=dof)
