"""Displays as people type them. Expected numbers are worked by hand beside each."""

from decimal import Decimal

import pytest

from drivers.inference.said import parse_shown


@pytest.mark.parametrize(
    ("text", "value", "decimals", "unit"),
    [
        ("12.345 mm", "12.345", 3, "mm"),
        ("12,345mm", "12.345", 3, "mm"),
        ("-0.50 IN", "-0.50", 2, "in"),
        ("+ 7 um", "7", 0, "um"),
        ('1.5"', "1.5", 1, "in"),
        (".5 mm", "0.5", 1, "mm"),
        ("1 3/8 in", "1.375", 3, "in"),  # 3/8 = 0.375
        ("-1/128 in", "-0.0078125", 7, "in"),
        ("12 34 56", "45296", 0, "arcsec"),  # (12 * 60 + 34) * 60 + 56
        ("12°34'56\"", "45296", 0, "arcsec"),
        ("1.2e3", "1200", -2, ""),
        ("-0.000 mm", "0.000", 3, "mm"),
    ],
)
def test_a_display_is_read(text: str, value: str, decimals: int, unit: str) -> None:
    shown = parse_shown(text)
    assert (shown.value, shown.decimals, shown.unit) == (Decimal(value), decimals, unit)


@pytest.mark.parametrize(
    "text", ["", "mm", "12.3.4", "1,234.5 mm", "nan", "1_0", "3/7 in", "5/4 in", "1 60 00", "1 kg"]
)
def test_what_is_no_display_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"display|fraction|minutes"):
        parse_shown(text)
