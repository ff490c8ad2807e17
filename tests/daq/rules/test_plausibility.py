"""Why a reading is not believed: each doubt in its words, by what it is held against alone."""

import pytest

from daq.lengths import parse_length
from daq.record.events import Sent
from daq.rules.plausibility import Began, Expected, at_stack, doubts, is_outside, new_zero

WINDOW = parse_length("0.5 mm").mm
TARGET = at_stack(parse_length("60 mm"), WINDOW, near="", beyond="from the stack")
MM = Began("mm", "0.001", None, ("preset",))


def sent(value: str, unit: str = "mm", *flags: str) -> Sent:
    return Sent(value=value, unit=unit, resolution="0.001", channel=None, flags=flags, raw_hex="00")


@pytest.mark.parametrize(
    ("unit", "said"),
    [("", "its unit 'none' is not a length"), ("kg", "its unit 'kg' is not a length")],
)
def test_what_is_no_length_is_told_by_its_unit_and_nothing_else(unit: str, said: str) -> None:
    assert doubts(sent("0", unit, "hold"), Expected(MM, TARGET, None)) == [said]


@pytest.mark.parametrize(
    ("value", "is_far"), [("59.499", True), ("59.5", False), ("60.5", False), ("60.501", True)]
)
def test_the_window_s_own_edge_is_believed(value: str, is_far: bool) -> None:
    assert is_outside(parse_length(f"{value} mm").mm, TARGET) is is_far


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("-0.5", "it looks like a deviation, not a size: set the gauge to show the size"),
        ("-0.501", "it lies more than 0.5 mm from the stack"),
    ],
)
def test_a_number_near_zero_looks_like_a_deviation(value: str, said: str) -> None:
    assert doubts(sent(value), Expected(None, TARGET, None)) == [said]


def test_only_a_flag_that_was_not_there_at_first_says_that_the_zero_is_lost() -> None:
    assert new_zero(("zeroed", "preset", "hold", "power-lost"), MM) == ["power-lost", "zeroed"]
    assert new_zero(("zeroed",), None) == []
