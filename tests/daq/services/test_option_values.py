"""Lengths and stacks as options say them: also with a decimal comma."""

import pytest

from daq.errors import UsageError
from daq.services.option_values import degrees_of, length_of, stack_of


def test_a_length_may_have_a_comma_or_inch_marks() -> None:
    assert str(length_of("0,001 mm", "--step")) == "0.001 mm"
    assert str(length_of('0.0001"', "--step")) == "0.0001 in"
    assert length_of(None, "--step") is None


@pytest.mark.parametrize("text", ["0,000 mm", "1.234,5 mm", "0,001"])
def test_what_is_no_length_above_zero_is_refused(text: str) -> None:
    with pytest.raises(UsageError):
        length_of(text, "--step")


@pytest.mark.parametrize(
    ("word", "stack"),
    [
        ("59,97 mm", "59.97 mm"),
        ('2.3610"', "2.3610 in"),
        ("59.97 mm", "59.97 mm"),
        ("59.97mm", "59.97mm"),  # as it was said, where every program reads it
        ("mains", "mains"),
        ("a,b", "a,b"),
        (None, None),
    ],
)
def test_a_stack_is_a_name_or_a_size_as_this_program_writes_it(
    word: str | None, stack: str | None
) -> None:
    assert stack_of(word) == stack


def test_a_temperature_may_have_a_comma_and_is_written_with_a_point() -> None:
    assert degrees_of("20,5", "--part-temp") == degrees_of("20.5", "--part-temp") == "20.5"
    with pytest.raises(UsageError, match="'2,0,5' is not a temperature in degrees"):
        degrees_of("2,0,5", "--part-temp")
