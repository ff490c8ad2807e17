"""A length beside itself in the other unit: exact where it is, marked where it is rounded."""

import pytest

from daq.lengths import parse_length
from daq.plan.drafting.units import band_text, other_band_text, other_text, with_other


@pytest.mark.parametrize(
    ("text", "other"),
    [
        # 2.3610 * 25.4 = 59.9694, exactly
        ("2.3610 in", "59.9694 mm"),
        # 59.970 / 25.4 = 2.361 023 6...
        ("59.970 mm", "≈ 2.36102 in"),
        # 50.80 / 25.4 = 2, exactly
        ("50.80 mm", "2.00000 in"),
        # 0.005 / 25.4 = 0.000 196 85...
        ("0.005 mm", "≈ 0.000197 in"),
        ("5 um", "≈ 0.000197 in"),
    ],
)
def test_a_length_in_the_other_unit(text: str, other: str) -> None:
    assert other_text(parse_length(text)) == other


def test_a_band_says_its_unit_once_and_is_rounded_if_one_end_is() -> None:
    low, high = parse_length("50.780 mm"), parse_length("50.800 mm")
    assert band_text(low, high) == "50.780 to 50.800 mm"
    # 50.780 / 25.4 = 1.999 212 6...
    assert other_band_text(low, high) == "≈ 1.99921 to 2.00000 in"
    assert with_other("a", "≈ b") == "a ≈ b"
    assert with_other("a", "b") == "a = b"


def test_a_band_without_a_high_limit_begins_at_the_low_one() -> None:
    low = parse_length("2 in")
    assert (band_text(low, None), other_band_text(low, None)) == ("from 2 in", "from 50.8 mm")
