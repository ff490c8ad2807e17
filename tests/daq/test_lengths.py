"""Lengths, limits and positions: exact decimals, and limits that a conversion never widens."""

from decimal import Decimal, FloatOperation, Inexact, InvalidOperation, Overflow, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.lengths import (
    EXACT,
    Length,
    Limits,
    Position,
    inward,
    mean_text,
    parse_length,
    parse_typed_length,
    plain,
    shortest,
    signed,
    to_mm,
)


@pytest.mark.parametrize(
    ("text", "value", "unit", "mm"),
    [
        ("59.97 mm", "59.97", "mm", "59.97"),
        ("59.970 mm", "59.970", "mm", "59.970"),
        ("59.97mm", "59.97", "mm", "59.97"),
        ("  59.97   mm  ", "59.97", "mm", "59.97"),
        ("+1 mm", "1", "mm", "1"),
        ("-0.5 mm", "-0.5", "mm", "-0.5"),
        ("5 um", "5", "um", "0.005"),  # a thousandth of a millimetre each
        # 2.3610 x 25.4 = 2.3610 x 25 + 2.3610 x 0.4 = 59.025 + 0.9444
        ("2.3610 in", "2.3610", "in", "59.9694"),
        ("0.0001 in", "0.0001", "in", "0.00254"),
        ("999999.999999999 mm", "999999.999999999", "mm", "999999.999999999"),
    ],
)
def test_a_length_is_read_with_its_digits_and_unit(
    text: str, value: str, unit: str, mm: str
) -> None:
    length = parse_length(text)
    assert (plain(length.value), length.unit) == (value, unit)
    assert length.mm == Decimal(mm)


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "59.97",
        "mm",
        "59,97 mm",
        "59.97 cm",
        "59.97 MM",
        "59.97 mm mm",
        "59.97 mm 2.3610 in",
        "59.97 m m",
        "59.97\tmm",
        "59.97\nmm",
        "59. mm",
        ".97 mm",
        "1e5 mm",
        "1E-3 in",
        "nan mm",
        "inf mm",
        "-Infinity mm",
        "sNaN in",
        "1_0 mm",
        "0x10 mm",
        "--1 mm",
        "+-1 mm",
        "- 1 mm",
        "1000000 mm",
        "0.0000000001 mm",
        "\u0661 mm",  # an Arabic-Indic one
        "\uff15\uff19 mm",  # full-width digits
        "5\u00a0mm",  # a no-break space inside
        "2\u2032 in",
        '2.361"',
        "1/2 in",
        "5 \u00b5m",
        "59.97 mm\x00",
        "1" * 100_000 + " mm",
    ],
)
def test_a_text_that_is_not_a_length_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(ValueError, match=r'like "59\.97 mm" or "2\.3610 in"'):
        parse_length(text)


@given(st.text(max_size=40))
def test_any_text_is_a_length_or_a_value_error(text: str) -> None:
    try:
        length = parse_length(text)
    except ValueError:
        return
    assert length.mm.is_finite()


@pytest.mark.parametrize(
    ("text", "step_mm"),
    [
        ("59.97 mm", "0.01"),
        ("59.970 mm", "0.001"),
        ("60 mm", "1"),
        ("2.3610 in", "0.00254"),  # 0.0001 x 25.4
        ("2.361 in", "0.0254"),
        ("5 um", "0.001"),
    ],
)
def test_the_step_of_a_length_is_one_unit_of_its_last_digit(text: str, step_mm: str) -> None:
    assert parse_length(text).step_mm == Decimal(step_mm)


def test_a_length_prints_as_it_was_written() -> None:
    assert str(parse_length("2.3610in")) == "2.3610 in"
    assert str(Length(Decimal("1E+2"), "mm")) == "100 mm"


@pytest.mark.parametrize(
    ("inch", "mm"),
    [
        # The international inch of July 1959: 25.4 mm exactly (NIST SP 811; NPL).
        ("1", "25.4"),
        ("10", "254"),
        ("0.5", "12.7"),
        ("0.0001", "0.00254"),
        ("0.00005", "0.00127"),
        # 2.748 x 25.4 = 68.7 + 1.0992. With 1 mm = 0.03937 in it would come out as 69.7994.
        ("2.748", "69.7992"),
        # 36 ft = 432 in = 10.9728 m (NIST SP 811, B.7.2: 36 x 0.3048)
        ("432", "10972.8"),
    ],
)
def test_an_inch_is_25_4_mm_exactly(inch: str, mm: str) -> None:
    assert to_mm(Decimal(inch), "in") == Decimal(mm)


def test_the_rounded_factor_0_03937_is_not_what_is_used() -> None:
    # An army bulletin prints 0.03937 beside the exact 25.4; 69.7992 x 0.03937 is 2.747994...
    assert Fraction(to_mm(Decimal("2.748"), "in")) != Fraction("2.748") / Fraction("0.03937")
    assert Fraction(to_mm(Decimal("2.748"), "in")) / Fraction("25.4") == Fraction("2.748")


@given(st.decimals(min_value=0, max_value=99, places=6, allow_nan=False))
def test_inch_to_mm_and_back_returns_the_original_decimal(inch: Decimal) -> None:
    mm = to_mm(inch, "in")
    assert EXACT.divide(mm, Decimal("25.4")) == inch
    assert inward(mm, "in", Decimal("0.000001"), is_low=True) == (inch, False)
    assert inward(mm, "in", Decimal("0.000001"), is_low=False) == (inch, False)


def test_another_unit_is_not_taken_for_a_length() -> None:
    with pytest.raises(KeyError):
        to_mm(Decimal(1), "deg")


def test_a_low_limit_is_rounded_up_and_a_high_one_down() -> None:
    # 11 +- 0.3 mm = .42125984 and .44488189 in exactly (ANSI/IEEE 268, as quoted)
    step = Decimal("0.001")
    assert inward(Decimal("10.7"), "in", step, is_low=True) == (Decimal("0.422"), True)
    assert inward(Decimal("11.3"), "in", step, is_low=False) == (Decimal("0.444"), True)


@given(
    st.decimals(min_value="0.001", max_value=200, places=5, allow_nan=False),
    st.sampled_from(["mm", "in", "um"]),
    st.sampled_from(["0.001", "0.0001", "0.0005", "0.00005", "0.01"]),
    st.booleans(),
)
def test_inward_stays_inside_by_less_than_one_step(
    limit_mm: Decimal, unit: str, step: str, is_low: bool
) -> None:
    shown, was_rounded = inward(limit_mm, unit, Decimal(step), is_low=is_low)
    inside = Fraction(to_mm(shown, unit)) - Fraction(limit_mm)
    if not is_low:
        inside = -inside
    assert 0 <= inside < Fraction(to_mm(Decimal(step), unit))
    assert was_rounded == (inside > 0)


@pytest.mark.parametrize(
    ("mean", "text"),
    [
        # Two equal halves go to the even digit, up and down alike.
        (Fraction(5, 10**6), "0.00000"),
        (Fraction(15, 10**6), "0.00002"),
        (Fraction(25, 10**6), "0.00002"),
        (Fraction(-15, 10**6), "-0.00002"),
        (Fraction(-25, 10**6), "-0.00002"),
        (Fraction(25000001, 10**12), "0.00003"),  # a hair above the tie
        (Fraction(1, 3), "0.33333"),
        (Fraction(2, 3), "0.66667"),
        (Fraction(59), "59.00000"),
        (Fraction(-1, 10**9), "0.00000"),  # never "-0.00000"
        (Fraction(599725, 10**4), "59.97250"),
    ],
)
def test_a_mean_is_printed_half_to_even_to_five_decimals(mean: Fraction, text: str) -> None:
    assert mean_text(mean) == text


def test_arithmetic_that_would_round_raises() -> None:
    with pytest.raises(Inexact):
        EXACT.divide(Decimal(1), Decimal("25.4"))
    with pytest.raises(Inexact):
        EXACT.add(Decimal("1E+400"), Decimal("1E-400"))


def test_a_float_never_becomes_a_length() -> None:
    with pytest.raises(FloatOperation):
        EXACT.create_decimal(2.748)
    with pytest.raises(InvalidOperation):
        EXACT.create_decimal("2.748 in")
    with pytest.raises(Overflow):
        EXACT.multiply(Decimal("1E+999999"), Decimal("1E+999999"))


def test_a_tolerance_is_high_minus_low_whatever_the_units() -> None:
    # 2.1649 in = 54.98846 mm, less 54.97
    limits = Limits(low=parse_length("54.97 mm"), high=parse_length("2.1649 in"))
    assert limits.tolerance_mm == Decimal("0.01846")
    assert Limits(low=parse_length("54.97 mm")).tolerance_mm is None


def test_a_position_is_written_as_journal_station_angle_and_repeat_from_the_second_on() -> None:
    assert str(Position("M1", "front", 45)) == "M1/front/45"
    assert str(Position("M1", "front", 45, 2)) == "M1/front/45/2"
    assert Position("M1", "front", 45, 2).place == "front/45"


def test_the_ambient_decimal_context_changes_no_length() -> None:
    with localcontext(prec=2):
        assert parse_length("2.3610 in").mm == Decimal("59.9694")
        assert mean_text(Fraction(599725, 10**4)) == "59.97250"


@pytest.mark.parametrize(
    ("number", "kept", "cut", "with_sign"),
    [
        ("0.0200", "0.0200", "0.02", "+0.0200"),
        ("-1.50", "-1.50", "-1.5", "-1.50"),
        ("100", "100", "100", "+100"),
        ("0.000", "0.000", "0", "+0.000"),
        ("1E+2", "100", "100", "+100"),
    ],
)
def test_numbers_are_written_without_exponent(
    number: str, kept: str, cut: str, with_sign: str
) -> None:
    found = Decimal(number)
    assert (plain(found), shortest(found), signed(found)) == (kept, cut, with_sign)


@pytest.mark.parametrize(
    ("text", "length"),
    [
        ("59,97 mm", "59.97 mm"),
        ("59.970mm", "59.970 mm"),
        (" 59,970 MM ", "59.970 mm"),
        ("2,3610 in", "2.3610 in"),
        ("2.3610 inch", "2.3610 in"),
        ('2.3610"', "2.3610 in"),
        ("5 um", "5 um"),
        ("+60 mm", "60 mm"),
        ("-0.5 mm", "-0.5 mm"),
    ],
)
def test_a_typed_length_may_have_a_comma_and_other_words_for_its_unit(
    text: str, length: str
) -> None:
    assert str(parse_typed_length(text)) == length


@pytest.mark.parametrize("text", ["59,97", "1.234,5 mm", "1,234.5 mm", "1,2,3 mm", "59, mm", "mm"])
def test_what_is_no_typed_length_is_refused_as_any_other(text: str) -> None:
    with pytest.raises(ValueError, match="is not a length with its unit"):
        parse_typed_length(text)
