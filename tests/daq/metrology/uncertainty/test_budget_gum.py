"""The end-gauge example of the GUM, H.1: published numbers, another program, and its traps."""

import math

import pytest

from daq.metrology.uncertainty.budget import Budget, combine, coverage_factor
from daq.metrology.uncertainty.components import (
    Component,
    from_expanded,
    product_term,
    rectangular,
)

# JCGM 100:2008, H.1: l = ls + d - ls (da theta + as dtheta), in nm and degrees. The numbers
# stand in public test suites of GUM programs and in part in NIST TN 1297, D.2.
LS_NM, D_NM, THETA = 50_000_623.0, 215.0, -0.1
ALPHA_S = 11.5e-6


def line(
    name: str, u: float, dof: float = math.inf, unit: str = "nm", sensitivity: float = 1e-6
) -> Component:
    return Component(name=name, estimate="", u=u, unit=unit, sensitivity=sensitivity, dof=dof)


def comparison() -> list[Component]:
    """d = d0 + d1 + d2, uncertainties as published."""
    return [
        line("d0, mean of 5 comparisons", 5.8, 24),
        line("d1, comparator, random", 3.9, 5),
        line("d2, comparator, systematic", 6.7, 8),  # known to 25 %: 1 / (2 * 0.25**2)
    ]


def end_gauge(coverage: float = 0.99) -> Budget:
    mm = LS_NM * 1e-6
    return combine(
        [
            line("ls, standard", from_expanded(75, 3), 18),
            *comparison(),
            line("da, difference of coefficients", rectangular(1e-6), 50, "/K", -mm * THETA),
            line("dtheta, difference of temperatures", rectangular(0.05), 2, "K", -mm * ALPHA_S),
        ],
        coverage,
    )


def test_the_estimate() -> None:
    # JCGM 100:2008, H.1.5: 50.000 838 mm; da and dtheta are estimated as zero
    da = dtheta = 0.0
    length = LS_NM + D_NM - LS_NM * (da * THETA + ALPHA_S * dtheta)
    assert length == pytest.approx(50_000_838, abs=0.5)


def test_the_comparison() -> None:
    # H.1.3.2: u(d) = 9.7 nm; H.1.6 prints 25.6 degrees of freedom, with the rounded 9.7
    found = combine(comparison())
    assert found.combined * 1e6 == pytest.approx(9.7, abs=0.05)
    assert found.effective_dof == pytest.approx(25.447, abs=0.005)  # derived: unrounded
    below = sum((c.u**4) / c.dof for c in comparison())
    assert 9.7**4 / below == pytest.approx(25.638, abs=0.005)


def test_the_combined_standard_uncertainty() -> None:
    # H.1.4: u_c**2 = 1002 nm**2, u_c = 32 nm; unrounded 31.664
    found = end_gauge()
    assert (found.combined * 1e6) ** 2 == pytest.approx(1002, abs=1)
    assert found.combined * 1e6 == pytest.approx(31.664, abs=0.005)


def test_its_two_thermal_contributions() -> None:
    # H.1.3: 2.9 nm and 16.6 nm
    *_, da, dtheta = end_gauge().components
    assert da.contribution_mm * 1e6 == pytest.approx(2.9, abs=0.05)
    assert dtheta.contribution_mm * 1e6 == pytest.approx(16.6, abs=0.05)


def test_its_degrees_of_freedom_are_cut_down() -> None:
    # H.1.6 and G.4: 16.7, truncated to 16; unrounded 16.75
    found = end_gauge()
    assert found.effective_dof == pytest.approx(16.75, abs=0.01)
    assert found.dof == 16


def test_its_coverage_factor() -> None:
    # JCGM 100:2008, Table G.2; NIST TN 1297, Table B.1: t99(16) = 2.92
    assert end_gauge().k == pytest.approx(2.921, abs=0.0005)


def test_its_expanded_uncertainty() -> None:
    found = end_gauge()
    # published (H.1.6): 2.92 x 32 nm = 93 nm, rounded before it is multiplied
    assert round(found.k, 2) * round(found.combined * 1e6) == pytest.approx(93, abs=0.5)
    # derived: unrounded, degrees of freedom cut down; what this program states
    assert found.expanded * 1e6 == pytest.approx(92.5, abs=0.05)


def test_its_expanded_uncertainty_at_95_percent() -> None:
    # derived: 2.1199 x 31.664 nm
    found = end_gauge(0.95)
    assert found.k == pytest.approx(2.120, abs=0.0005)
    assert found.expanded * 1e6 == pytest.approx(67.1, abs=0.1)


def test_rounding_on_the_way_gives_another_number_of_degrees_of_freedom() -> None:
    # the trap: a rounded 32 nm in Welch-Satterthwaite gives 17.47, and 17 in place of 16
    below = sum((c.contribution_mm * 1e6) ** 4 / c.dof for c in end_gauge().components)
    assert math.floor(32**4 / below) == 17
    assert end_gauge().dof == 16


def test_second_order_terms() -> None:
    # JCGM 100:2008, H.1.7 (from memory): 11.7 nm and 1.7 nm, and u_c = 34 nm in place of 32
    mm = LS_NM * 1e-6
    theta = math.hypot(0.2, 0.5 / math.sqrt(2))  # a swing of +-0.5
    second = [
        product_term("da theta", rectangular(1e-6), theta, mm),
        product_term("as dtheta", rectangular(2e-6), rectangular(0.05), mm),
    ]
    contributions = [part.contribution_mm * 1e6 for part in second]
    assert contributions == pytest.approx([11.7, 1.7], abs=0.05)
    found = combine([*end_gauge().components, *second], 0.99)
    assert found.combined * 1e6 == pytest.approx(34, abs=0.5)


def test_gtc_finds_the_same() -> None:
    from GTC import dof, reporting, type_b, uncertainty, ureal, value

    ls = ureal(50_000_623, 25, 18)
    d = ureal(215, 5.8, 24) + ureal(0, 3.9, 5) + ureal(0, 6.7, 8)
    theta = ureal(-0.1, 0.2) + ureal(0, type_b.arcsine(0.5))
    alpha_s = ureal(11.5e-6, type_b.uniform(2e-6))
    d_alpha = ureal(0, type_b.uniform(1e-6), 50)
    d_theta = ureal(0, type_b.uniform(0.05), 2)
    length = ls + d - ls * (d_alpha * theta + alpha_s * d_theta)
    found = end_gauge()
    assert value(length) == pytest.approx(50_000_838, abs=1e-6)
    assert found.combined * 1e6 == pytest.approx(uncertainty(length), rel=1e-9)
    assert found.effective_dof == pytest.approx(dof(length), rel=1e-9)
    # GTC takes t for degrees of freedom that are no whole number: 2.9035 and 91.94 nm
    k = reporting.k_factor(dof(length), 99)
    assert coverage_factor(found.effective_dof, 0.99) == pytest.approx(k, rel=1e-9)
    assert k * uncertainty(length) == pytest.approx(91.94, abs=0.005)


def test_two_is_not_the_factor_of_three_degrees_of_freedom() -> None:
    # NIST TN 1297, Table B.1 (from memory): t95.45(3) = 3.31
    found = combine([line("mean of four", 1.0, 3)])
    assert found.k == pytest.approx(3.31, abs=0.005)
    assert found.expanded > 1.6 * 2 * found.combined


def test_the_spread_of_a_mean_is_not_that_of_a_reading() -> None:
    # H.1.3.2: s = 13 nm pooled from 25 observations, mean of 5: 13 / sqrt(5) = 5.8 nm
    assert 13 / math.sqrt(5) == pytest.approx(comparison()[0].u, abs=0.05)


def test_a_corrected_journal_has_the_uncertainty_of_its_correction() -> None:
    # derived (JCGM 100:2008, 5.1): L = 60 mm, coefficient (11.5 +- 1.0)e-6, temperature
    # (25 +- 0.5) C, both rectangular: 60 x 5 x 0.577e-6 = 0.000173, 60 x 11.5e-6 x 0.289 = 0.000199
    found = combine(
        [
            line("coefficient", rectangular(1e-6), unit="/K", sensitivity=-60 * 5),
            line("temperature", rectangular(0.5), unit="K", sensitivity=-60 * 11.5e-6),
        ]
    )
    contributions = [part.contribution_mm for part in found.components]
    assert contributions == pytest.approx([0.000173, 0.000199], abs=5e-7)
    assert found.combined == pytest.approx(0.000264, abs=1e-6)
