"""Budgets: how components combine and are rounded."""

import math
from decimal import Decimal
from fractions import Fraction

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.metrology.uncertainty.budget import (
    Budget,
    combine,
    coverage_factor,
    rounded_up,
)
from daq.metrology.uncertainty.components import Component


def part(u: float, dof: float = math.inf, sensitivity: float = 1.0, name: str = "x") -> Component:
    return Component(name=name, estimate="0", u=u, unit="mm", sensitivity=sensitivity, dof=dof)


# NIST TN 1297, Table B.1, by columns of 1, 2, 3 standard deviations and three round probabilities
K1, K2, K3 = (math.erf(k / math.sqrt(2)) for k in (1, 2, 3))


@pytest.mark.parametrize(
    ("dof", "factors"),
    [
        (1, (1.84, 6.31, 12.71, 13.97, 63.66, 235.80)),
        (4, (1.14, 2.13, 2.78, 2.87, 4.60, 6.62)),
        (5, (1.11, 2.02, 2.57, 2.65, 4.03, 5.51)),
        (10, (1.05, 1.81, 2.23, 2.28, 3.17, 3.96)),
        (20, (1.03, 1.72, 2.09, 2.13, 2.85, 3.42)),
        (math.inf, (1.000, 1.645, 1.960, 2.000, 2.576, 3.000)),
    ],
)
def test_coverage_factors_of_the_published_table(dof: float, factors: tuple[float, ...]) -> None:
    tolerance = 0.005 if math.isfinite(dof) else 0.0005
    for coverage, published in zip((K1, 0.90, 0.95, K2, 0.99, K3), factors, strict=True):
        assert coverage_factor(dof, coverage) == pytest.approx(published, abs=tolerance)


@pytest.mark.parametrize("coverage", [0.5, 0.6827, 0.95, 0.9545, 0.99, 0.9999])
def test_coverage_factors_agree_with_scipy(coverage: float) -> None:
    from scipy.stats import norm, t

    p = (1 + coverage) / 2
    for dof in (1, 2, 3, 9, 16, 50, 199, 200, 201, 250, 999, 3600, 10**5, 10**7):
        assert coverage_factor(dof, coverage) == pytest.approx(t.ppf(p, dof), rel=1e-9)
    for endless in (1e15, 1e300, math.inf):
        assert coverage_factor(endless, coverage) == pytest.approx(norm.ppf(p), rel=1e-12)


def test_coverage_factors_fall_with_degrees_of_freedom() -> None:
    for coverage in (0.9545, 0.9999):
        factors = [coverage_factor(dof, coverage) for dof in range(190, 211)]
        assert factors == sorted(factors, reverse=True)


def test_contributions_add_in_quadrature() -> None:
    found = combine([part(0.003), part(0.002, sensitivity=-2.0)])
    assert found.combined == pytest.approx(0.005)  # 3, 4, 5
    assert found.effective_dof == math.inf
    assert found.dof == math.inf
    assert found.k == pytest.approx(2.000, abs=1e-4)
    assert found.expanded == found.k * found.combined
    assert [found.share(each) for each in found.components] == pytest.approx([0.36, 0.64])


def test_one_component_keeps_its_own_degrees_of_freedom() -> None:
    # derived: u**4 / (u**4 / v) = v; binary noise must not cut it down to v - 1
    for dof in range(1, 200):
        for u in (1e-9, 0.0001, 0.003, 0.7, 3.3):
            assert combine([part(u, dof)]).dof == dof


def test_equal_components_add_their_degrees_of_freedom() -> None:
    # derived: (n u**2)**2 / (n u**4 / v) = n v
    for n in range(1, 12):
        assert combine([part(0.0003, 7)] * n).dof == 7 * n


def test_nothing_known_to_vary_is_no_uncertainty() -> None:
    for components in ([], [part(0.0, 3), part(1.0, 2, sensitivity=0.0)]):
        found = combine(components)
        assert (found.combined, found.expanded) == (0.0, 0.0)
        assert found.dof == math.inf
        assert [found.share(each) for each in components] == [0.0] * len(components)


def test_a_nanometre_does_not_vanish_in_its_fourth_power() -> None:
    # derived: (1e-100)**4 is 0 in a float
    found = combine([part(1e-100, 3), part(1e-100, 3)])
    assert found.dof == 6


@pytest.mark.parametrize("small", [1e-40, 1e-78, 1e-80, 1e-81, 1e-200])
def test_a_trace_of_scatter_leaves_the_degrees_of_freedom_endless(small: float) -> None:
    # derived: (1 / small)**4 degrees of freedom, up to and over the largest float
    found = combine([part(1.0), part(small, 1)])
    assert found.dof >= 1e150
    assert found.k == pytest.approx(2.000002, abs=1e-6)


@given(
    st.lists(
        st.tuples(st.floats(1e-6, 1e-2), st.integers(1, 500) | st.just(math.inf)),
        min_size=1,
        max_size=15,
    )
)
def test_effective_degrees_of_freedom_by_exact_fractions(
    given_parts: list[tuple[float, float]],
) -> None:
    found = combine([part(u, dof) for u, dof in given_parts])
    squares = [Fraction(u) ** 2 for u, _ in given_parts]
    below = sum(
        square**2 / Fraction(dof)
        for square, (_, dof) in zip(squares, given_parts, strict=True)
        if math.isfinite(dof)
    )
    assert found.combined == pytest.approx(math.sqrt(sum(squares)), rel=1e-12)
    if not below:
        assert found.effective_dof == math.inf
        return
    exact = sum(squares) ** 2 / below
    assert found.effective_dof == pytest.approx(float(exact), rel=1e-12)
    assert math.floor(exact) <= found.dof <= exact * (1 + Fraction(1, 10**8))
    assert found.dof >= min(dof for _, dof in given_parts)
    assert sum(found.share(each) for each in found.components) == pytest.approx(1)


@pytest.mark.parametrize("coverage", [0.0, 1.0, -0.5, 95.45, math.nan])
def test_impossible_coverages_are_refused(coverage: float) -> None:
    with pytest.raises(ValueError, match="coverage probability"):
        combine([part(1)], coverage)


@pytest.mark.parametrize(
    ("mm", "step", "expected"),
    [
        (0.0030001, "0.0001", "0.0031"),  # up, not to the nearest
        (0.003, "0.0001", "0.0030"),  # on the step, whatever binary makes of it
        (0.0003, "0.0001", "0.0003"),
        (3 * 0.0001, "0.0001", "0.0003"),  # binary: a little over
        (0.1 + 0.2, "0.1", "0.3"),
        (0.0, "0.001", "0.000"),
        (1e-12, "0.0001", "0.0001"),  # nothing known to vary is not the same as little
        (0.00099, "0.0005", "0.0010"),
    ],
)
def test_an_uncertainty_is_rounded_up(mm: float, step: str, expected: str) -> None:
    assert str(rounded_up(mm, Decimal(step))) == expected


@given(st.floats(0, 10), st.sampled_from(["0.00001", "0.0001", "0.0005", "0.001"]))
def test_rounding_up_never_makes_it_smaller(mm: float, step: str) -> None:
    found = rounded_up(mm, Decimal(step))
    assert Decimal(mm) - Decimal(step) * Decimal("1e-8") <= found < Decimal(mm) + Decimal(step)
    assert found % Decimal(step) == 0


@pytest.mark.parametrize("mm", [-0.001, math.nan, math.inf])
def test_what_is_no_uncertainty_is_not_rounded(mm: float) -> None:
    with pytest.raises(ValueError, match="an uncertainty of"):
        rounded_up(mm, Decimal("0.0001"))


def test_a_budget_is_kept_and_read_back() -> None:
    budget = combine([part(0.001, 4), part(0.002, 9)])
    assert msgspec.json.decode(msgspec.json.encode(budget), type=Budget) == budget
