"""Standard uncertainties from what is stated, and what a component refuses to be."""

import math

import pytest

from daq.metrology.uncertainty.components import (
    Component,
    from_expanded,
    product_term,
    rectangular,
    resolution_u,
)


def test_limits_become_standard_uncertainties() -> None:
    # JCGM 100:2008, H.1: +-1e-6 /C rectangular -> 0.58e-6, +-2e-6 -> 1.2e-6, +-0.05 C -> 0.029
    assert rectangular(1e-6) == pytest.approx(0.58e-6, abs=0.005e-6)
    assert rectangular(2e-6) == pytest.approx(1.2e-6, abs=0.05e-6)
    assert rectangular(0.05) == pytest.approx(0.029, abs=0.0005)


def test_limits_agree_with_the_second_moment() -> None:
    # derived: mean square of the density over -1 to 1, by the midpoint rule
    panels = 20_000
    middles = [(2 * n + 1) / panels - 1 for n in range(panels)]
    width = 2 / panels
    flat = math.fsum(x * x * 0.5 * width for x in middles)
    assert rectangular(1) == pytest.approx(math.sqrt(flat), rel=1e-6)


def test_a_step_is_half_a_step_either_way() -> None:
    # JCGM 100:2008, F.2.2.1: 0.29 of a step
    assert resolution_u(1) == pytest.approx(0.29, abs=0.005)
    assert resolution_u(0.001) == pytest.approx(0.001 / math.sqrt(12), rel=1e-15)


def test_an_expanded_uncertainty_is_divided_by_its_own_factor() -> None:
    # JCGM 100:2008, H.1: U = 75 nm, k = 3 -> 25 nm. Mistake: U taken as u, or k = 2 taken for all
    assert from_expanded(75, 3) == 25
    assert from_expanded(75, 2) == 37.5
    for k in (0, -1, math.nan):
        with pytest.raises(ValueError, match="coverage factor"):
            from_expanded(75, k)


def test_a_product_of_two_small_things() -> None:
    # JCGM 100:2008, H.1.7 (from memory): ls u(da) u(theta) = 50e6 nm x 0.58e-6 x 0.41 = 11.9 nm
    # (it prints 11.7 nm); exactly 50e6 x 1e-6 / sqrt(3) x sqrt(0.2**2 + 0.5**2 / 2) = 11.7 nm
    theta = math.hypot(0.2, 0.5 / math.sqrt(2))
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
