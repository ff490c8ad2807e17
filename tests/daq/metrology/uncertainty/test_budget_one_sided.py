"""The budget for one limit: the factor against tables and a library, the whole by hand."""

import math

import pytest

from daq.metrology.uncertainty.budget import combine, combine_one_sided, one_sided_factor
from daq.metrology.uncertainty.components import Component


def line(u: float, dof: float = math.inf) -> Component:
    return Component(
        name="x", estimate="0", u=u, unit="mm", sensitivity=1.0, dof=dof, kind="A", note=""
    )


@pytest.mark.parametrize(
    ("dof", "confidence", "factor"),
    [
        # tables of Student's t, one-sided (JCGM 100, table G.2 at 90 % two-sided)
        (1, 0.95, 6.31),
        (8, 0.95, 1.86),
        (50, 0.95, 1.68),
        (math.inf, 0.95, 1.6448536),
        (math.inf, 0.9, 1.2815516),
    ],
)
def test_the_one_sided_factor_is_that_of_the_tables(
    dof: float, confidence: float, factor: float
) -> None:
    digits = 1e-6 if math.isinf(dof) else 5e-3
    assert one_sided_factor(dof, confidence) == pytest.approx(factor, abs=digits)


@pytest.mark.parametrize("dof", [1, 2, 7, 315, 9_999, 100_000, 10**9])
@pytest.mark.parametrize("confidence", [0.51, 0.9, 0.95, 0.99, 0.9999])
def test_the_one_sided_factor_is_that_of_a_library(dof: float, confidence: float) -> None:
    from scipy import stats  # loads slowly

    judge = float(stats.t.ppf(confidence, dof))
    assert one_sided_factor(dof, confidence) == pytest.approx(judge, rel=1e-6)


def test_a_one_sided_budget_by_hand() -> None:
    # 3 and 4 um: 5 um. Freedom (5**4) / (3**4 / 8) = 61.73, cut to 61; t(0.95, 61) = 1.6702
    found = combine_one_sided([line(0.003, 8), line(0.004)], 0.95)
    assert found.combined == pytest.approx(0.005)
    assert found.effective_dof == pytest.approx(61.728, abs=1e-3)
    assert found.dof == 61
    assert found.k == pytest.approx(1.6702, abs=1e-4)
    assert found.expanded == pytest.approx(0.005 * 1.6702, abs=1e-6)
    assert (found.is_one_sided, found.coverage) == (True, 0.95)


def test_one_side_at_95_percent_is_two_sides_at_90() -> None:
    lines = [line(0.001, 5), line(0.002, 11)]
    one, two = combine_one_sided(lines, 0.95), combine(lines, 0.90)
    assert one.expanded == pytest.approx(two.expanded, rel=1e-12)
    assert two.is_one_sided is False
