"""Probabilities and quantiles against closed forms, published tables, 50 digits and scipy."""

import math
from collections.abc import Callable

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from daq.metrology.statistics.distributions import (
    chi2_quantile,
    f_quantile,
    f_tail,
    normal_cdf,
    normal_quantile,
    t_quantile,
)
from daq.metrology.statistics.tails import gamma_tails

PROBABILITIES = [
    *(1e-6, 1e-4, 0.001, 0.01, 0.025, 0.1, 0.3, 0.49, 0.5, 0.51, 0.7, 0.9),
    *(0.95, 0.975, 0.99, 0.995, 0.99865, 0.9999, 1 - 1e-6),
]
DOFS = [0.5, 1.0, 1.5, 2.0, 3.0, 5.0, 8.0, 16.752, 30.0, 100.0, 351.0, 1e3, 1e4, 1e6]

probabilities = st.floats(1e-9, 1 - 1e-9)
dofs = st.floats(0.5, 1e6)


def close(value: float, judge: float, rel: float = 1e-10) -> bool:
    return math.isclose(value, judge, rel_tol=rel, abs_tol=1e-300)


def f_below(x: float, d1: float, d2: float) -> float:
    """Probability of an F value up to `x`, by its inverse, which is F again."""
    return f_tail(1 / x, d2, d1)


def chi2_tails(x: float, dof: float) -> tuple[float, float]:
    """Probabilities of a chi-squared value up to `x` and over it, as its quantile is found by."""
    found = gamma_tails(math.log(x / 2), dof / 2)
    return math.exp(found.lower), math.exp(found.upper)


# NIST TN 1297, table B.1: Student's t for the fraction p of the distribution inside -t to t. The
# columns headed 68.27, 95.45 and 99.73 % mean what lies inside 1, 2 and 3 standard deviations.
TN_1297 = {
    1: (1.84, 6.31, 12.71, 13.97, 63.66, 235.80),
    4: (1.14, 2.13, 2.78, 2.87, 4.60, 6.62),
    5: (1.11, 2.02, 2.57, 2.65, 4.03, 5.51),
    10: (1.05, 1.81, 2.23, 2.28, 3.17, 3.96),
    20: (1.03, 1.72, 2.09, 2.13, 2.85, 3.42),
}
INSIDE = tuple(
    math.erf(p / math.sqrt(2)) if p in (1, 2, 3) else p for p in (1, 0.90, 0.95, 2, 0.99, 3)
)


@pytest.mark.parametrize(
    ("dof", "inside", "printed"),
    [
        (dof, inside, t)
        for dof, row in TN_1297.items()
        for inside, t in zip(INSIDE, row, strict=True)
    ],
)
def test_t_factors_are_those_of_tn_1297(dof: int, inside: float, printed: float) -> None:
    assert t_quantile((1 + inside) / 2, dof) == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize(
    ("inside", "printed"),
    [*zip(INSIDE, (1.000, 1.645, 1.960, 2.000, 2.576, 3.000), strict=True)],
)
def test_t_factors_without_end_are_the_normal_ones(inside: float, printed: float) -> None:
    # NIST TN 1297, table B.1, last line.
    assert t_quantile((1 + inside) / 2, math.inf) == pytest.approx(printed, abs=0.0005)
    assert normal_quantile((1 + inside) / 2) == pytest.approx(printed, abs=0.0005)


def test_a_coverage_of_99_73_per_cent_is_not_quite_three_standard_deviations() -> None:
    # Derived: the printed 235.80 belongs to erf(3 / sqrt 2), not to 0.9973.
    assert t_quantile((1 + 0.9973) / 2, 1) == pytest.approx(235.78, abs=0.005)


def test_published_critical_values() -> None:
    # NIST/SEMATECH e-Handbook 2.3.5.2 (t for six checks) and 2.3.5.1.1 (F of a balance).
    assert t_quantile(0.975, 5) == pytest.approx(2.5706, abs=5e-5)
    assert f_quantile(0.99, 3, 351) == pytest.approx(3.83787, abs=1e-5)
    assert math.sqrt(f_quantile(0.99, 3, 351)) == pytest.approx(1.95905, abs=1e-5)
    # NIST/SEMATECH e-Handbook 1.3.5.8 (from memory).
    assert chi2_quantile(0.025, 99) == pytest.approx(73.361, abs=5e-4)
    assert chi2_quantile(0.975, 99) == pytest.approx(128.422, abs=5e-4)
    # GUM table G.2, 16 degrees of freedom, 99 %.
    assert t_quantile(0.995, 16) == pytest.approx(2.92, abs=0.005)


# Upper tails to 17 digits, derived: mpmath's incomplete beta function with 50 digits.
@pytest.mark.parametrize(
    ("t", "dof", "tail"),
    [
        (3.0, 3.0, 0.028834442811218654),
        (12.0, 2.5, 0.0014181075150391619),
        (2.0, 30.0, 0.027312522481491552),
        (5.0, 16.75, 5.7209589924511795e-5),
        (3.5, 34.0, 0.00066045778377271377),
        (4.0, 40.5, 0.00013107138574881948),
        (1.96, 1e6, 0.024998033792634895),
    ],
)
def test_t_quantiles_have_all_their_digits(t: float, dof: float, tail: float) -> None:
    assert close(t_quantile(tail, dof), -t, 3e-14)


# Both tails, derived: mpmath with 50 digits.
@pytest.mark.parametrize(
    ("x", "dof", "lower", "upper"),
    [
        (1.0, 0.5, 0.84648640419167754, 0.15351359580832246),
        (50.0, 10.0, 0.99999973309165751, 2.6690834249044956e-7),
        (1200.0, 1000.0, 0.99998774405766938, 1.2255942330622904e-5),
        (0.01, 3.0, 0.00026516505865560984, 0.99973483494134439),
        (20.0, 34.0, 0.027041609784801128, 0.97295839021519887),
        (25.0, 33.0, 0.16012885459209658, 0.83987114540790342),
        # scipy 1.17 is wrong in the eighth digit here.
        (993292.0, 1e6, 9.9988142861719197e-7, 0.99999900011857138),
    ],
)
def test_chi_squared_tails_have_all_their_digits(
    x: float, dof: float, lower: float, upper: float
) -> None:
    # At a million the last digit of log x alone is worth 1e-12.
    rel = 2e-14 if dof < 1e3 else 1e-11
    assert close(chi2_tails(x, dof)[0], lower, rel)
    assert close(chi2_tails(x, dof)[1], upper, rel)
    if lower < 0.5:
        assert close(chi2_quantile(lower, dof), x, rel)


@pytest.mark.parametrize(
    ("x", "d1", "d2", "lower", "upper"),
    [
        (3.83787, 3.0, 351.0, 0.99000005851580052, 0.009999941484199485),
        (30.0, 2.0, 3.0, 0.98960867189352417, 0.010391328106475828),
        (0.001, 5.0, 7.0, 1.476997693245637e-7, 0.99999985230023068),
        (9.75, 0.5, 1e6, 0.99004466525807074, 0.0099553347419292552),
        (1.2, 500.0, 800.0, 0.98873094083854265, 0.011269059161457354),
        (1.7, 33.0, 36.0, 0.93913831123182865, 0.060861688768171349),
    ],
)
def test_f_tails_have_all_their_digits(
    x: float, d1: float, d2: float, lower: float, upper: float
) -> None:
    assert close(f_below(x, d1, d2), lower, 3e-14)
    assert close(f_tail(x, d1, d2), upper, 3e-14)


@pytest.mark.parametrize("p", PROBABILITIES)
def test_closed_forms(p: float) -> None:
    # Derived: Cauchy, t with 2 degrees of freedom, exponential, F(2, 2).
    if p != 0.5:
        assert close(t_quantile(p, 1), -1 / math.tan(math.pi * p), 1e-9)
        assert close(t_quantile(p, 2), (2 * p - 1) / math.sqrt(2 * p * (1 - p)), 1e-9)
    assert close(chi2_quantile(p, 2), -2 * math.log1p(-p), 1e-12)
    assert close(f_quantile(p, 2, 2), p / (1 - p), 1e-12)


@pytest.mark.parametrize("dof", DOFS)
def test_one_argument_families_agree_with_scipy(dof: float) -> None:
    from scipy import stats

    for p in PROBABILITIES:
        if p != 0.5:
            assert close(t_quantile(p, dof), stats.t.ppf(p, dof)), p
        assert close(chi2_quantile(p, dof), stats.chi2.ppf(p, dof)), p


@pytest.mark.parametrize("d1", DOFS)
def test_f_agrees_with_scipy(d1: float) -> None:
    from scipy import stats

    for d2 in DOFS:
        for p in PROBABILITIES[::2]:
            x = float(stats.f.ppf(p, d1, d2))
            assert close(f_quantile(p, d1, d2), x), (p, d2)
            assert close(f_tail(x, d1, d2), stats.f.sf(x, d1, d2)), (p, d2)


def test_normal_agrees_with_scipy_far_into_the_tail() -> None:
    from scipy import stats

    for p in (1e-300, 1e-100, 1e-20, *PROBABILITIES):
        if p != 0.5:
            assert close(normal_quantile(p), stats.norm.ppf(p), 1e-13), p
        assert close(normal_cdf(stats.norm.ppf(p)), p, 1e-12), p
    assert normal_quantile(0.5) == pytest.approx(0, abs=1e-16)


@given(probabilities, dofs)
def test_a_quantile_is_where_the_probability_is_reached(p: float, dof: float) -> None:
    # t squared is F with one degree of freedom of the numerator, whatever the sign.
    assert close(f_tail(t_quantile(p, dof) ** 2, 1, dof), 2 * min(p, 1 - p), 1e-11)
    # The last digit of x moves the probability by up to x times the density.
    x = chi2_quantile(p, dof)
    if x > 1e-300:
        assert close(chi2_tails(x, dof)[0], p, 1e-10)
    assert close(normal_cdf(normal_quantile(p)), p, 1e-13)


@given(probabilities, dofs, dofs)
def test_an_f_quantile_is_where_the_probability_is_reached(p: float, d1: float, d2: float) -> None:
    assert close(f_below(f_quantile(p, d1, d2), d1, d2), p, 1e-9)


@given(probabilities, dofs)
def test_t_is_symmetric(p: float, dof: float) -> None:
    tail = min(p, 1 - p)
    assert t_quantile(1 - tail, dof) == pytest.approx(-t_quantile(tail, dof), rel=1e-6, abs=1e-7)


@given(dofs, st.floats(0.51, 0.999))
def test_fewer_degrees_of_freedom_never_give_a_smaller_factor(dof: float, p: float) -> None:
    assert t_quantile(p, dof) >= t_quantile(p, dof * 1.5) * (1 - 1e-12)
    assert t_quantile(p, dof) >= normal_quantile(p) * (1 - 1e-12)


@given(st.floats(allow_nan=False), st.floats(1e-6, 1e6), st.floats(1e-6, 1e6))
@example(1.0, 1e-6, 1e6)
@example(1.0, 1e6, 1e-6)
@example(1.0, 1e-6, 1e-6)
def test_any_value_has_a_probability(x: float, d1: float, d2: float) -> None:
    for p in (normal_cdf(x), f_tail(x, d1, d2)):
        assert 0 <= p <= 1


def test_the_ends_are_exact() -> None:
    assert (normal_cdf(-math.inf), normal_cdf(0), normal_cdf(math.inf)) == (0, 0.5, 1)
    assert t_quantile(0.5, 3) == 0
    assert (f_tail(-1, 3, 4), f_tail(0, 3, 4), f_tail(math.inf, 3, 4)) == (1, 1, 0)
    # Too far out for a float, not for a quantile.
    assert t_quantile(1 - 1e-6, 0.001) == math.inf
    assert chi2_quantile(1e-300, 0.01) == 0
    assert t_quantile(0.9, 1e-6) == math.inf
    assert (chi2_quantile(0.9, 1e-6), f_quantile(0.9, 1e-6, 3)) == (0, 0)
    assert f_quantile(0.9, 3, 1e-6) == math.inf
    assert t_quantile(0.975, 1e300) == pytest.approx(normal_quantile(0.975), rel=1e-12)


@pytest.mark.parametrize(
    "refused",
    [
        lambda: normal_quantile(0),
        lambda: normal_quantile(1),
        lambda: t_quantile(math.nan, 3),
        lambda: chi2_quantile(1.5, 3),
        lambda: f_quantile(-0.1, 3, 3),
    ],
)
def test_what_is_no_probability_is_refused(refused: Callable[[], float]) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        refused()


@pytest.mark.parametrize(
    "refused",
    [
        lambda: t_quantile(0.9, -1),
        lambda: t_quantile(0.9, math.nan),
        lambda: t_quantile(0.9, 9e-7),
        lambda: t_quantile(0.9, 0),
        lambda: f_tail(1, 3, 0),
        lambda: f_tail(1, 0, 3),
        lambda: chi2_quantile(0.9, 0),
        lambda: chi2_quantile(0.9, math.inf),
        lambda: f_quantile(0.9, math.inf, 3),
        lambda: f_quantile(0.9, 2e8, 3),
    ],
)
def test_impossible_degrees_of_freedom_are_refused(refused: Callable[[], float]) -> None:
    with pytest.raises(ValueError, match="degrees of freedom"):
        refused()


@pytest.mark.parametrize(
    "refused",
    [
        lambda: normal_cdf(math.nan),
        lambda: f_tail(math.nan, 3, 3),
    ],
)
def test_no_number_is_refused(refused: Callable[[], float]) -> None:
    with pytest.raises(ValueError, match="not a number"):
        refused()
