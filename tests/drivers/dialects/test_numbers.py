"""Written numbers to exact decimals: one table per form, and an oracle for the loose form."""

import time
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.dialects.fields import Written
from drivers.dialects.numbers import matcher
from drivers.profile.layout_spec import Number


def written(text: str, sep: str = ".", **spec: Any) -> tuple[Written, str] | None:
    """The number at the beginning of a text and what is left behind it."""
    hit = matcher(Number(name="number", sep=sep, **spec))(text, 0)
    return None if hit is None else (hit[0], text[hit[1] :])


def plain(number: Written) -> str:
    text, exponent10, _, _, in_range = number
    assert in_range
    return format(Decimal(text).scaleb(exponent10), "f")


def fits(number: Written) -> bool:
    """Whether it is in range."""
    return number[4]


def read(text: str, sep: str = ".", **spec: Any) -> tuple[str, str] | None:
    """The same with the number in plain notation."""
    hit = written(text, sep, **spec)
    return None if hit is None else (plain(hit[0]), hit[1])


@pytest.mark.parametrize(
    ("text", "spec", "expected"),
    [
        ("0012", {}, ("12", "")),
        ("00123", {"decimals": 2}, ("1.23", "")),
        ("5", {"decimals": 3}, ("0.005", "")),
        ("1234", {"decimals": 0}, ("1234", "")),
        ("123456", {"width": 4, "decimals": 1}, ("123.4", "56")),
        ("123", {"width": 4}, None),
        ("12345", {"width": (2, 3)}, ("123", "45")),
        ("1", {"width": (2, 3)}, None),
        ("-12", {"sign": "required"}, ("-12", "")),
        ("12", {"sign": "required"}, None),
        ("-12", {}, None),
        ("--12", {"sign": "optional"}, None),
        # int: the width counts the digits alone, not sign and gap
        ("-   123", {"sign": "optional", "gap": True, "width": 3}, ("-123", "")),
        ("1.5", {}, ("1", ".5")),
        ("x", {}, None),
        ("", {}, None),
    ],
)
def test_int_takes_digits_with_implied_decimals(
    text: str, spec: dict[str, Any], expected: tuple[str, str] | None
) -> None:
    assert read(text, form="int", **spec) == expected


@pytest.mark.parametrize(
    ("text", "spec", "expected"),
    [
        ("1.50", {}, ("1.50", "")),
        ("0001.50", {}, ("1.50", "")),
        (".5", {}, None),
        ("5.", {}, None),
        ("12", {}, None),
        ("1.2.3", {}, ("1.2", ".3")),
        ("1,5", {}, None),
        ("-1.5", {"sign": "optional"}, ("-1.5", "")),
        ("+1.5", {"sign": "optional"}, ("1.5", "")),
        ("- 1.5", {"sign": "optional"}, None),
        # the width is that of the whole token, and nothing is read beyond it
        ("12.3456", {"width": 6}, ("12.345", "6")),
        ("1.5", {"width": 4}, None),
        ("1.5", {"width": (4, 6)}, None),
        ("-  1.50", {"sign": "required", "gap": True, "width": 7}, ("-1.50", "")),
        ("- 1.50", {"sign": "required", "gap": True, "width": 7}, None),
        ("123.4", {"width": 3}, None),
    ],
)
def test_fixed_needs_a_digit_on_both_sides_of_the_point(
    text: str, spec: dict[str, Any], expected: tuple[str, str] | None
) -> None:
    assert read(text, form="fixed", **spec) == expected


def test_a_comma_may_be_the_separator() -> None:
    assert read("12,340", ",", form="fixed") == ("12.340", "")
    assert read("12.340", ",", form="fixed") is None


@pytest.mark.parametrize("sign", ["optional", "required"])
def test_a_gap_lets_spaces_stand_between_sign_and_digits(sign: str) -> None:
    assert read("-   1.5", form="fixed", sign=sign, gap=True) == ("-1.5", "")
    assert read("-1.5", form="fixed", sign=sign, gap=True) == ("-1.5", "")


def test_a_gap_takes_no_spaces_where_no_sign_came() -> None:
    assert read("  1.5", form="fixed", sign="optional", gap=True) is None


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("1.5E+3", ("1500", "")),
        ("1.50e-3", ("0.00150", "")),
        ("1.5E3", None),
        ("15E+3", None),
        ("1.5", None),
        (".5E+3", None),
    ],
)
def test_exp_needs_point_and_signed_exponent(text: str, expected: tuple[str, str] | None) -> None:
    assert read(text, form="exp") == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("12", ("12", "")),
        (".5", ("0.5", "")),
        ("5.", ("5", "")),
        ("12.30", ("12.30", "")),
        ("1e3", ("1000", "")),
        ("1.2E3", ("1200", "")),
        ("1.2e+3", ("1200", "")),
        ("-.5E-1", ("-0.05", "")),
        ("5.e1", ("50", "")),
        (".", None),
        ("e5", None),
        ("nan", None),
        ("inf", None),
        (" 5", None),
        ("\u0661\u0662", None),
        ("\uff11", None),
        ("1e", ("1", "e")),
        ("0x1F", ("0", "x1F")),
        ("1_000", ("1", "_000")),
        ("1,000.5", ("1", ",000.5")),
    ],
)
def test_nrf_takes_every_listener_form_and_nothing_python_adds(
    text: str, expected: tuple[str, str] | None
) -> None:
    assert read(text, form="nrf", sign="optional") == expected


@pytest.mark.parametrize("form", ["int", "fixed", "exp", "nrf", "dms", "fraction"])
def test_no_form_takes_digits_that_are_not_ascii(form: str) -> None:
    text = "\u0661.\u0661E+\u0661" if form != "dms" else "\u0661.\u0661.\u0661"
    assert read(text, form=form) is None


@pytest.mark.parametrize(
    ("text", "sep", "arcsec"),
    [
        ("-012 34 56", " ", "-45296"),  # 12 * 3600 = 43200, + 34 * 60 = 2040, + 56
        ("0 0 1", " ", "1"),
        ("1:02:03", ":", "3723"),
        ("360 59 59", " ", "1299599"),  # 1296000 + 3599
    ],
)
def test_dms_is_stored_in_seconds(text: str, sep: str, arcsec: str) -> None:
    assert read(text, sep, form="dms", sign="optional") == (arcsec, "")


@pytest.mark.parametrize("text", ["12 34", "12  34 56", "12:34:56", "12 34 x"])
def test_dms_needs_three_whole_numbers_with_the_separator_between(text: str) -> None:
    assert read(text, " ", form="dms") is None


@pytest.mark.parametrize(
    ("text", "is_fit"), [("12 60 0", False), ("12 0 60", False), ("12 59 59", True)]
)
def test_dms_minutes_and_seconds_over_59_are_out_of_range(text: str, is_fit: bool) -> None:
    hit = written(text, " ", form="dms")
    assert hit is not None
    assert fits(hit[0]) is is_fit


@pytest.mark.parametrize(
    ("text", "value", "step"),
    [
        ("3 17/64", "3.265625", "0.015625"),  # 1/64 = 0.015625; 17/64 = 0.265625
        ("1/2", "0.5", "0.5"),
        ("-1/2", "-0.5", "0.5"),
        ("003 04/08", "3.5", "0.125"),
        ("2", "2", "1"),
        ("10", "10", "1"),
        ("1 0/1", "1", "1"),
        ("0/8", "0", "0.125"),
        ("127/128", "0.9921875", "0.0078125"),
    ],
)
def test_fractions_are_exact_decimals_without_trailing_zeros(
    text: str, value: str, step: str
) -> None:
    hit = written(text, form="fraction", sign="optional")
    assert hit is not None
    assert (plain(hit[0]), str(hit[0][3]), hit[1]) == (value, step, "")


@pytest.mark.parametrize("text", ["1/3", "5/4", "4/4", "1/0", "0/0", "1 1/3", "1 5/4", "1 1/0"])
def test_improper_fractions_and_other_denominators_are_no_numbers(text: str) -> None:
    assert read(text, form="fraction") is None


def test_a_fraction_takes_exactly_one_space() -> None:
    assert read("3  1/2", form="fraction") == ("3", "  1/2")


@pytest.mark.parametrize(
    ("text", "is_fit"),
    [("1.0E+40", True), ("1.0E-40", True), ("1.0E+41", False), ("1.0E-41", False)],
)
@pytest.mark.parametrize("form", ["exp", "nrf"])
def test_exponents_over_40_are_out_of_range(form: str, text: str, is_fit: bool) -> None:
    hit = written(text, form=form)
    assert hit is not None
    assert fits(hit[0]) is is_fit


@pytest.mark.parametrize("sign", ["+", "-"])
@pytest.mark.parametrize("exponent", ["999999999", "9" * 4000])
def test_a_hostile_exponent_is_answered_at_once(sign: str, exponent: str) -> None:
    began = time.perf_counter()
    hit = written(f"1.0E{sign}{exponent}", form="nrf")
    assert time.perf_counter() - began < 1.0
    assert hit is not None
    assert not fits(hit[0])
    assert hit[0][0] == ""


DIGITS = st.text("0123456789", min_size=1, max_size=12)
MANTISSAS = st.one_of(
    DIGITS,
    st.builds("{}.".format, DIGITS),
    st.builds(".{}".format, DIGITS),
    st.builds("{}.{}".format, DIGITS, DIGITS),
)
EXPONENTS = st.one_of(
    st.just(""),
    st.builds(
        "{}{}{:d}".format,
        st.sampled_from("eE"),
        st.sampled_from(["", "+", "-"]),
        st.integers(0, 40),
    ),
)


@given(st.sampled_from(["", "+", "-"]), MANTISSAS, EXPONENTS)
def test_every_nrf_text_means_what_decimal_says(sign: str, mantissa: str, exponent: str) -> None:
    text = sign + mantissa + exponent
    hit = written(text, form="nrf", sign="optional")
    assert hit is not None
    number, rest = hit
    oracle = Decimal(text)  # the independent reading, safe here: the text is of our own making
    assert rest == ""
    mantissa, exponent10, decimals, _, _ = number
    assert Decimal(mantissa).is_signed() is oracle.is_signed()
    assert Decimal(mantissa).scaleb(exponent10) == oracle
    assert exponent10 - decimals == oracle.as_tuple().exponent
