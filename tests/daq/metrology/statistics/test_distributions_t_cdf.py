"""The probability of Student's t, against a library and against its own quantile."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.metrology.statistics.distributions import normal_cdf, t_cdf, t_quantile

DOFS = [1.0, 2.0, 3.0, 4.5, 8.0, 30.0, 315.0, 1e6]
VALUES = [-40.0, -6.5, -1.6449, -0.3, 1e-9, 0.001, 0.7, 1.96, 2.3954, 9.0, 60.0]


@pytest.mark.parametrize("dof", DOFS)
@pytest.mark.parametrize("t", VALUES)
def test_it_is_that_of_a_library(t: float, dof: float) -> None:
    from scipy import stats  # loads slowly

    assert t_cdf(t, dof) == pytest.approx(float(stats.t.cdf(t, dof)), rel=1e-9, abs=1e-300)


def test_known_values() -> None:
    # tables: t(0.95, 8) = 1.8595, t(0.975, 4) = 2.7764; one degree: 1/2 + atan(t) / pi
    assert t_cdf(1.8595, 8) == pytest.approx(0.95, abs=1e-5)
    assert t_cdf(2.7764, 4) == pytest.approx(0.975, abs=1e-5)
    assert t_cdf(1.0, 1) == pytest.approx(0.75, abs=1e-12)
    assert t_cdf(math.sqrt(3), 1) == pytest.approx(0.5 + 1 / 3, abs=1e-12)
    assert t_cdf(0.0, 3) == 0.5


@pytest.mark.parametrize("t", VALUES)
def test_without_limit_of_freedom_it_is_the_normal_one(t: float) -> None:
    assert t_cdf(t, math.inf) == normal_cdf(t)


@pytest.mark.parametrize(("t", "p"), [(math.inf, 1.0), (-math.inf, 0.0)])
@pytest.mark.parametrize("dof", [1.0, 5.0, math.inf])
def test_at_the_ends_it_is_certain(t: float, p: float, dof: float) -> None:
    assert t_cdf(t, dof) == p


@given(st.floats(0.001, 0.999), st.sampled_from(DOFS))
def test_it_undoes_the_quantile(p: float, dof: float) -> None:
    assert t_cdf(t_quantile(p, dof), dof) == pytest.approx(p, abs=1e-11)


@given(st.floats(-50, 50), st.sampled_from(DOFS))
def test_both_tails_together_are_one(t: float, dof: float) -> None:
    assert t_cdf(t, dof) + t_cdf(-t, dof) == pytest.approx(1.0, abs=1e-15)


@pytest.mark.parametrize("dof", [0.0, -1.0, 9e-7, math.nan])
def test_impossible_degrees_of_freedom_are_refused(dof: float) -> None:
    with pytest.raises(ValueError, match="degrees of freedom"):
        t_cdf(1.0, dof)


def test_what_is_no_number_is_refused() -> None:
    with pytest.raises(ValueError, match="not a number"):
        t_cdf(math.nan, 3)
