"""Lengths as a person reads them: rounded, and never over a limit by rounding."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.board.shown_lengths import (
    SHOWN_STEPS,
    ShownIn,
    shown_difference,
    shown_limit,
    shown_size,
    stated_unit,
    units_shown,
)
from daq.lengths import MM_PER, Length, parse_length

LOW, HIGH = parse_length("59.970 mm"), parse_length("59.990 mm")


def size(mm: str, unit: str, low: Length = LOW, high: Length = HIGH) -> str:
    limits = [shown_limit(low, unit, is_low=True), shown_limit(high, unit, is_low=False)]
    return str(shown_size(Fraction(mm), unit, limits))


def test_a_limit_in_its_own_unit_stands_as_it_was_stated() -> None:
    assert str(shown_limit(LOW, "mm", is_low=True)) == "59.970"
    assert str(shown_limit(parse_length("2.3610 in"), "in", is_low=True)) == "2.3610"
    assert str(shown_limit(parse_length("59970 um"), "mm", is_low=True)) == "59.9700"


def test_a_limit_in_the_other_unit_is_rounded_inward_and_marked() -> None:
    # 59.970 / 25.4 = 2.361023622..., up; 59.990 / 25.4 = 2.361811023..., down
    assert str(shown_limit(LOW, "in", is_low=True)) == "~2.36103"
    assert str(shown_limit(HIGH, "in", is_low=False)) == "~2.36181"
    # 2.3610 * 25.4 = 59.9694 exactly, and yet converted
    assert str(shown_limit(parse_length("2.3610 in"), "mm", is_low=True)) == "~59.9694"


@pytest.mark.parametrize(
    ("mm", "unit", "shown"),
    [
        ("59.98094", "mm", "59.9809"),
        ("59.98095", "mm", "59.9810"),  # 599809.5, half to even up
        ("59.98085", "mm", "59.9808"),  # 599808.5, half to even down
        ("59.97", "mm", "59.970"),  # on the limit
        ("59.96999", "mm", "59.9699"),  # under it by 0.01 um: not shown as 59.9700
        ("59.97001", "mm", "59.9700"),
        ("59.99001", "mm", "59.9901"),  # over the high limit
        ("59.96", "in", "2.36063"),  # 2.360629...
        ("59.97", "in", "2.36103"),  # 2.3610236 would be 2.36102, under the limit as shown
        ("59.9699", "in", "2.36102"),  # 2.3610197
        ("59.99", "in", "2.36181"),
        ("59.99001", "in", "2.36182"),
    ],
)
def test_a_size_is_rounded_and_stays_on_its_side(mm: str, unit: str, shown: str) -> None:
    assert Fraction(size(mm, unit)) == Fraction(shown)


@given(
    mm=st.integers(5_996_000, 6_000_000).map(lambda um: Fraction(um, 100_000)),
    unit=st.sampled_from(["mm", "in"]),
    low=st.sampled_from(["59.970 mm", "2.3610 in", "59.97005 mm", "59970 um"]),
    high=st.sampled_from(["59.990 mm", "2.3618 in", "59.98995 mm"]),
)
def test_no_size_crosses_a_limit_and_none_is_off_by_more_than_two_steps(
    mm: Fraction, unit: str, low: str, high: str
) -> None:
    limits = [
        shown_limit(parse_length(low), unit, is_low=True),
        shown_limit(parse_length(high), unit, is_low=False),
    ]
    shown = shown_size(mm, unit, limits)
    assert (shown < limits[0].value) == (mm < Fraction(parse_length(low).mm))
    assert (shown > limits[1].value) == (mm > Fraction(parse_length(high).mm))
    off = abs(Fraction(shown) - mm / Fraction(MM_PER[unit]))
    assert off <= 2 * Fraction(SHOWN_STEPS[unit])


def test_a_difference_that_is_there_is_never_shown_as_zero() -> None:
    assert shown_difference(Fraction("0.00001"), "mm") == Decimal("0.0001")
    assert shown_difference(Fraction("-0.00001"), "mm") == Decimal("-0.0001")
    assert shown_difference(Fraction(0), "mm") == 0
    assert shown_difference(Fraction("0.0127"), "in") == Decimal("0.00050")


def test_by_default_the_unit_is_that_of_the_plan() -> None:
    assert units_shown(None, stated_unit(LOW)) == ("mm",)
    assert units_shown(None, stated_unit(parse_length("2.3610 in"))) == ("in",)
    assert units_shown(ShownIn.BOTH, "in") == ("in", "mm")
    assert units_shown(ShownIn.BOTH, "mm") == ("mm", "in")
    assert units_shown(ShownIn.INCH, "mm") == ("in",)
    assert units_shown(ShownIn.MM, "in") == ("mm",)
