"""Display rounding: nearest step, ties away from zero, decimals kept."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulator.rounding import to_step

STEPS = ["0.001", "0.0005", "0.00005", "0.002", "0.01", "0.1", "1", "5", "1E+1", "0.0010"]


@pytest.mark.parametrize(
    ("value", "step", "expected"),
    [
        (59.98, "0.001", "59.980"),
        (59.9804, "0.001", "59.980"),
        (59.9805, "0.001", "59.981"),
        (59.9705, "0.001", "59.971"),
        (-59.9805, "0.001", "-59.981"),
        (59.9815, "0.001", "59.982"),
        (0.0, "0.001", "0.000"),
        (-0.0, "0.001", "0.000"),
        (-0.0004, "0.001", "0.000"),
        (-0.0005, "0.001", "-0.001"),
        (2.361474, "0.00005", "2.36145"),
        (2.361475, "0.00005", "2.36150"),
        (2.361524, "0.00005", "2.36150"),
        (59.9812, "0.002", "59.982"),
        (12.25, "0.5", "12.5"),
        (14.9, "1E+1", "10"),
        (15, "1E+1", "20"),
        (60.0, "0.0010", "60.0000"),
    ],
)
def test_worked_values(value: float, step: str, expected: str) -> None:
    assert str(to_step(value, Decimal(step))) == expected


@given(value=st.floats(-1e6, 1e6), step=st.sampled_from(STEPS))
def test_never_more_than_half_a_step_off(value: float, step: str) -> None:
    shown = to_step(value, Decimal(step))
    assert abs(shown - Decimal(repr(value))) * 2 <= Decimal(step)


@given(value=st.floats(-1e6, 1e6), step=st.sampled_from(STEPS))
def test_a_whole_number_of_steps_with_the_decimals_of_the_step(value: float, step: str) -> None:
    shown = to_step(value, Decimal(step))
    assert shown % Decimal(step) == 0
    assert shown.as_tuple().exponent == min(0, int(Decimal(step).as_tuple().exponent))
    assert to_step(shown, Decimal(step)) == shown


@given(steps=st.integers(0, 10**6), step=st.sampled_from(STEPS))
def test_ties_go_away_from_zero(steps: int, step: str) -> None:
    size = Decimal(step)
    half_way = steps * size + size / 2
    assert to_step(half_way, size) == (steps + 1) * size
    assert to_step(-half_way, size) == -(steps + 1) * size


@given(value=st.floats(-1e6, 1e6), step=st.sampled_from(STEPS))
def test_both_signs_alike(value: float, step: str) -> None:
    assert to_step(-value, Decimal(step)) == -to_step(value, Decimal(step))


@given(first=st.floats(-1e4, 1e4), second=st.floats(-1e4, 1e4), step=st.sampled_from(STEPS))
def test_a_larger_size_never_shows_smaller(first: float, second: float, step: str) -> None:
    small, large = sorted([first, second])
    assert to_step(small, Decimal(step)) <= to_step(large, Decimal(step))


@pytest.mark.parametrize(
    ("value", "step"),
    [(math.nan, "0.001"), (math.inf, "0.001"), (1.0, "0"), (1.0, "-0.001"), (1.0, "NaN")],
)
def test_what_cannot_be_shown(value: float, step: str) -> None:
    with pytest.raises(ValueError, match="cannot show"):
        to_step(value, Decimal(step))
