"""Tokens from left to right: what each takes, what each says when it fails."""

from typing import Any

import msgspec
import pytest

from drivers.dialects.layout import Layout
from drivers.profile.layout_spec import (
    Bits,
    Channel,
    Exponent,
    Flag,
    Lit,
    Number,
    Sign,
    Spaces,
    Token,
    Unit,
)


def number(form: Any = "fixed", **spec: Any) -> Number:
    return Number(name="number", form=form, **spec)


def unit(*, optional: bool = False, **units: str) -> Unit:
    return Unit(name="unit", map=units or {"mm": "mm", "in": "in"}, optional=optional)


def flag(optional: bool = False, **names: str) -> Flag:
    return Flag(name="flag", map=names, optional=optional)


class Read(msgspec.Struct, frozen=True):
    """All fields of a text by their names."""

    text: str
    exponent10: int
    decimals: int
    unit: str | None
    channel: str | None
    flags: tuple[str, ...]
    no_reading: str | None


def read(text: str, *tokens: Token) -> Read:
    fields = Layout(tokens).read(text)
    assert fields is not None
    (number, exponent10, decimals, _, _), unit, said = fields
    return Read(number, exponent10, decimals, unit, said.channel, said.flags, said.no_reading)


def missed(text: str, *tokens: Token) -> tuple[str, int]:
    """The error code and the position, counted from 0."""
    layout = Layout(tokens)
    assert layout.read(text) is None
    miss = layout.miss(text)
    return miss.code, miss.pos


# --- literals and spaces ---


def test_a_literal_stands_exactly_there() -> None:
    assert read("#1.5", Lit(lit="#"), number()).text == "1.5"
    assert missed("1.5", Lit(lit="#"), number()) == ("syntax", 0)


def test_an_optional_literal_may_be_missing() -> None:
    tokens = (Lit(lit="#", optional=True), number())
    assert read("#1.5", *tokens) == read("1.5", *tokens)


def test_spaces_keep_their_bounds() -> None:
    tokens = (number("int"), Spaces(sp=(1, 3)), unit())
    assert read("1 mm", *tokens).unit == "mm"
    assert read("1   mm", *tokens).unit == "mm"
    assert missed("1mm", *tokens) == ("syntax", 1)
    assert missed("1    mm", *tokens) == ("unit", 4)


def test_there_is_no_way_back() -> None:
    # the spaces take all four; nothing is given back for the literal
    assert missed("    1", Spaces(sp=(0, 4)), Lit(lit=" "), number("int")) == ("syntax", 4)


def test_the_whole_text_must_be_used_up() -> None:
    assert missed("1.5 ", number()) == ("syntax", 3)


# --- channel ---


@pytest.mark.parametrize(
    ("chars", "good", "bad"), [("digit", "12", "a1"), ("alpha", "aB", "1a"), ("alnum", "a1", "-1")]
)
def test_a_channel_is_kept_as_text_of_its_class(chars: Any, good: str, bad: str) -> None:
    tokens = (Channel(name="channel", chars=chars, width=2), Lit(lit=":"), number("int"))
    assert read(f"{good}:1", *tokens).channel == good
    assert missed(f"{bad}:1", *tokens) == ("syntax", 0)


def test_a_leading_zero_of_a_channel_is_kept() -> None:
    channel = Channel(name="channel", chars="digit", width=2)
    assert read("01:1", channel, Lit(lit=":"), number("int")).channel == "01"


def test_a_channel_that_is_not_allowed_is_named_so() -> None:
    channel = Channel(name="channel", chars="digit", width=(1, 2), allowed=("1", "12"))
    assert read("12:1", channel, Lit(lit=":"), number("int")).channel == "12"
    assert missed("9:1", channel, Lit(lit=":"), number("int")) == ("channel", 0)
    # the first token that fails names the error, whatever comes behind it
    assert missed("9:x", channel, Lit(lit=":"), number("int")) == ("channel", 0)


# --- sign and exponent ---


@pytest.mark.parametrize(("text", "written"), [("-15", "-15"), ("+15", "15"), (" 15", "15")])
def test_a_sign_may_stand_before_the_number(text: str, written: str) -> None:
    token = Sign(name="sign", map={"+": "+", "-": "-", " ": "+"})
    assert read(text, token, number("int")).text == written


def test_a_sign_may_stand_behind_the_number() -> None:
    token = Sign(name="sign", map={"CR": "-", "C": "+"})
    assert read("15CR", number("int"), token).text == "-15"
    assert missed("15", number("int"), token) == ("syntax", 2)


def test_an_optional_sign_may_be_missing() -> None:
    token = Sign(name="sign", map={"-": "-"}, optional=True)
    assert read("15", token, number("int")).text == "15"


@pytest.mark.parametrize(
    ("text", "sign", "power"),
    [("-4", "optional", -4), ("4", "optional", 4), ("+04", "required", 4), ("4", "none", 4)],
)
def test_an_exponent_is_a_power_of_ten(text: str, sign: Any, power: int) -> None:
    tokens = (number("int"), Lit(lit=";"), Exponent(name="exponent", sign=sign))
    assert read(f"1;{text}", *tokens).exponent10 == power


@pytest.mark.parametrize(("text", "sign"), [("4", "required"), ("-4", "none"), ("", "optional")])
def test_an_exponent_without_its_sign_or_digits_is_refused(text: str, sign: Any) -> None:
    tokens = (number("int"), Lit(lit=";"), Exponent(name="exponent", sign=sign))
    assert missed(f"1;{text}", *tokens) == ("syntax", 2)


def test_a_number_too_large_stays_one_whatever_stands_around_it() -> None:
    minus = Sign(name="sign", map={"-": "-"})
    assert read("1e41-", number("nrf"), minus).text == ""
    assert read("-1;41", minus, number("int"), Lit(lit=";"), Exponent(name="exponent")).text == ""
    assert read("1;41-", number("int"), Lit(lit=";"), Exponent(name="exponent"), minus).text == ""


def test_the_sign_of_a_number_is_no_separator() -> None:
    assert read("-1-2-3", number("dms", sign="optional", sep="-")).text == "-3723"  # 3600+120+3


# --- unit ---


def test_the_longest_unit_that_fits_is_taken() -> None:
    assert read("1mm", number("int"), unit(m="m", mm="mm")).unit == "mm"
    assert read("1m", number("int"), unit(m="m", mm="mm")).unit == "m"


def test_no_unit_that_fits_is_named_so_unless_it_is_optional() -> None:
    assert missed("1kg", number("int"), unit()) == ("unit", 1)
    assert read("1", number("int"), unit(optional=True)).unit is None
    assert missed("1kg", number("int"), unit(optional=True)) == ("syntax", 1)


# --- status ---


def test_a_flag_value_may_say_nothing() -> None:
    assert read("1N", number("int"), flag(N="")).flags == ()
    assert read("1H", number("int"), flag(H="hold")).flags == ("hold",)
    assert read("1", number("int"), flag(True, H="hold")).flags == ()
    assert missed("1X", number("int"), flag(H="hold")) == ("syntax", 1)


@pytest.mark.parametrize(
    ("word", "flags"),
    [
        ("00", []),
        ("01", ["hold"]),
        ("81", ["hold", "top"]),
        ("06", ["bit-1", "bit-2"]),
        ("0A", ["bit-1", "bit-3"]),
        ("0a", ["bit-1", "bit-3"]),
    ],
)
def test_bits_are_counted_from_the_lowest_and_undeclared_ones_kept(
    word: str, flags: list[str]
) -> None:
    token = Bits(name="bits", width=2, bits={"0": "hold", "7": "top"})
    assert read(f"1,{word}", number("int"), Lit(lit=","), token).flags == tuple(flags)


def test_a_bit_may_be_declared_to_say_nothing() -> None:
    assert (
        read("11", number("int", width=1), Bits(name="bits", width=1, bits={"0": ""})).flags == ()
    )


@pytest.mark.parametrize("text", ["1,0", "1,G0", "1,"])
def test_a_status_word_needs_all_its_hex_digits(text: str) -> None:
    token = Bits(name="bits", width=2, bits={})
    assert missed(text, number("int"), Lit(lit=","), token) == ("syntax", 2)


def test_of_several_reasons_for_no_reading_the_lowest_bit_counts() -> None:
    token = Bits(name="bits", width=2, bits={"6": "!second", "1": "!first", "0": "hold"})
    fields = read("143", number("int", width=1), token)  # 0x43: bits 0, 1 and 6
    assert (fields.no_reading, fields.flags) == ("first", ("hold",))


def test_of_several_reasons_for_no_reading_the_first_in_the_layout_counts() -> None:
    word = Bits(name="bits", width=1, bits={"0": "!bits"})
    assert read("1E1", number("int"), flag(E="!flag"), word).no_reading == "flag"
    assert read("11E", number("int", width=1), word, flag(E="!flag")).no_reading == "bits"


def test_a_later_token_that_fails_wins_over_a_status() -> None:
    assert missed("E1x", flag(E="!flag"), number("int"), unit()) == ("unit", 2)


# --- decimals and separator ---


def test_decimals_of_form_fixed_are_exact() -> None:
    assert read("1.500", number(decimals=3)).text == "1.500"
    assert missed("1.50", number(decimals=3)) == ("decimals", 0)
    assert missed("1.5000", number(decimals=3)) == ("decimals", 0)
    assert read("1.50E+2", number("exp", decimals=2)).text == "1.50"
    assert missed("1.5E+22", number("exp", decimals=2)) == ("decimals", 0)


@pytest.mark.parametrize(
    ("text", "token"),
    [
        ("12,345 mm", number()),
        ("12.345 mm", number(sep=",")),
        ("12,345 mm", number(decimals=3)),
        ("-12,345 mm", number(sign="optional")),
        ("1,5E+2 mm", number("exp")),
        ("12,30 mm", number("nrf")),
    ],
)
def test_the_other_separator_is_named_where_the_whole_text_fits(text: str, token: Number) -> None:
    assert missed(text, token, Lit(lit=" "), unit())[0] == "separator"


def test_a_missing_unit_is_a_wrong_separator_where_that_explains_it() -> None:
    # the loose form reads 12 and the unit fails at the comma
    assert missed("12,30mm", number("nrf"), unit()) == ("separator", 2)


@pytest.mark.parametrize(
    ("text", "token", "code"),
    [
        ("12,345 kg", number(), "syntax"),  # with a point the unit would still be wrong
        ("12,34 mm", number(decimals=3), "syntax"),  # with a point the decimals would be wrong
        ("1,234.5 mm", number(), "syntax"),  # a thousands separator
        ("1.234,5 mm", number(sep=","), "syntax"),
        ("12 mm", number(), "syntax"),
        ("12.34 mm", number(decimals=3), "decimals"),
        ("12.345 kg", number(), "unit"),
    ],
)
def test_the_first_error_stands_where_the_other_separator_does_not_help(
    text: str, token: Number, code: str
) -> None:
    assert missed(text, token, Lit(lit=" "), unit())[0] == code


def test_only_the_number_swaps_point_and_comma() -> None:
    channel = Channel(name="channel", chars="digit", width=2)
    assert missed("1,5,00", number(), Lit(lit=","), channel)[0] == "separator"
    assert missed("1,5.00", number(), Lit(lit=","), channel)[0] == "syntax"
