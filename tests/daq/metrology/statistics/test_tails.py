"""The search for a quantile: from anywhere, to the same place."""

import math
from collections.abc import Callable

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from daq.metrology.statistics.tails import Tails, beta_tails, gamma_tails, solve

tails = st.floats(1e-30, 0.5)
shapes = st.floats(0.25, 1e4)
sides = st.booleans()


starts = st.floats(-80, 80)


@given(tails, sides, shapes, starts)
@example(0.5, False, 5.0, 0.0)  # overshoots to where the density is the tail to the last digit
@example(0.5, True, 5.0, 60.0)  # starts where the slope is 0
@example(0.5, False, 5000.0, -80.0)
def test_a_gamma_tail_is_found_from_anywhere(
    tail: float, is_lower: bool, a: float, start: float
) -> None:
    s = solve(tail, is_lower, start, lambda s: gamma_tails(s, a))
    found = gamma_tails(s, a)
    assert math.exp(found.lower if is_lower else found.upper) == pytest.approx(tail, rel=1e-10)


@given(tails, sides, shapes, shapes, starts)
def test_a_beta_tail_is_found_from_anywhere(
    tail: float, is_lower: bool, a: float, b: float, start: float
) -> None:
    s = solve(tail, is_lower, start, lambda s: beta_tails(s, a, b))
    found = beta_tails(s, a, b)
    assert math.exp(found.lower if is_lower else found.upper) == pytest.approx(tail, rel=1e-10)


def test_a_search_without_an_end_says_so() -> None:
    with pytest.raises(ArithmeticError, match="no quantile"):
        solve(0.1, True, 0.0, lambda s: Tails(s % 2 - 4, -1.0, 0.5, -0.5, 0.0))


@given(st.floats(-30, 30), shapes, shapes)
def test_the_two_tails_make_one(s: float, a: float, b: float) -> None:
    for found in (beta_tails(s, a, b), gamma_tails(s, a)):
        assert math.exp(found.lower) + math.exp(found.upper) == pytest.approx(1, abs=1e-11)


@given(st.floats(-30, 30), shapes, shapes)
def test_exchanging_a_and_b_exchanges_the_tails(s: float, a: float, b: float) -> None:
    one, other = beta_tails(s, a, b), beta_tails(-s, b, a)
    assert (one.lower, one.upper) == pytest.approx((other.upper, other.lower), rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("s", [-2.0, 0.1, 1.5])
@pytest.mark.parametrize(
    "at",
    [
        lambda s: beta_tails(s, 0.5, 0.5),
        lambda s: beta_tails(s, 0.5, 8.4),
        lambda s: beta_tails(s, 3.0, 20.0),
        lambda s: beta_tails(s, 50.0, 40.0),
        lambda s: gamma_tails(s, 0.5),
        lambda s: gamma_tails(s, 3.0),
    ],
)
def test_slopes_are_those_of_the_tails(s: float, at: Callable[[float], Tails]) -> None:
    h = 1e-5
    below, here, above = at(s - h), at(s), at(s + h)
    assert here.rise == pytest.approx((above.lower - below.lower) / (2 * h), rel=1e-5, abs=1e-9)
    assert here.fall == pytest.approx((above.upper - below.upper) / (2 * h), rel=1e-5, abs=1e-9)
    # The density is either slope times its tail.
    bend = (math.log(above.rise / below.rise) + above.lower - below.lower) / (2 * h)
    assert here.bend == pytest.approx(bend, rel=1e-5, abs=1e-5)


def test_a_tail_beyond_any_float_still_has_a_logarithm() -> None:
    # Derived: for a small x the lower tail nears x^a / (a gamma(a)), in odds x^a / (a B(a, b)).
    assert gamma_tails(-2000.0, 3.0).lower == pytest.approx(-6000 - math.log(6), rel=1e-12)
    # 1 / B(3, 2) = 12
    assert beta_tails(-2000.0, 3.0, 2.0).lower == pytest.approx(-6000 + math.log(4), rel=1e-12)
    assert beta_tails(2000.0, 2.0, 3.0).upper == pytest.approx(-6000 + math.log(4), rel=1e-12)
