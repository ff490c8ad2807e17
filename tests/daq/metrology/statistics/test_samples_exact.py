"""Sums of squares as fractions: what is compared exactly goes by them."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.metrology.statistics.samples import NO_SQUARES, exact_sd, exact_squares

VALUES = st.lists(st.decimals("59.960", "59.980", places=3), min_size=1, max_size=8)


def test_by_hand() -> None:
    # 0 0 0 1 1 um: mean 0.4, squares 3 * 0.16 + 2 * 0.36 = 1.2; four degrees of freedom
    found = exact_squares([Decimal(text) for text in ("0", "0", "0", "0.001", "0.001")])
    assert (found.total, found.dof) == (Fraction(12, 10**7), Fraction(4))
    assert found.variance == Fraction(3, 10**7)


def test_thirds_stay_thirds() -> None:
    # 0 0 1: 2/9 + 4/9 = 2/3
    assert exact_squares([Decimal(0), Decimal(0), Decimal(1)]).total == Fraction(2, 3)


def test_sets_are_pooled_each_about_its_own_mean() -> None:
    one = exact_squares([Decimal(0), Decimal(2)])
    other = exact_squares([Decimal(100), Decimal(100), Decimal(103)])
    both = one + other
    assert (both.total, both.dof) == (Fraction(2 + 6), Fraction(3))  # 1 + 1; 1 + 1 + 4
    assert both.pooled.sd == pytest.approx((8 / 3) ** 0.5)
    assert both.pooled.dof == 3.0


def test_a_stated_deviation_weighs_as_many_readings_as_it_came_from() -> None:
    # 0.5 with 8 and 1.0 with 2: (2 + 2) / 10
    found = exact_sd(Decimal("0.5"), Decimal(8)) + exact_sd(Decimal(1), Decimal(2))
    assert found.variance == Fraction(4, 10)


def test_without_a_degree_of_freedom_there_is_no_variance() -> None:
    for nothing in (NO_SQUARES, exact_squares([Decimal(1)])):
        with pytest.raises(ValueError, match="no degrees of freedom"):
            _ = nothing.variance
    with pytest.raises(ValueError, match="no values"):
        exact_squares([])


@given(VALUES, st.decimals("-1", "1", places=4))
def test_a_shift_changes_nothing_at_all(values: list[Decimal], by: Decimal) -> None:
    assert exact_squares([value + by for value in values]) == exact_squares(values)


@given(VALUES)
def test_they_are_those_of_the_definition(values: list[Decimal]) -> None:
    mean = sum(map(Fraction, values)) / len(values)
    assert exact_squares(values).total == sum((Fraction(value) - mean) ** 2 for value in values)
