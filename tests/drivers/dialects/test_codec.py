"""One frame to one reading or one reject: the order of the tests, value, unit and resolution."""

from collections.abc import Callable

import pytest

from drivers.dialects.codec import codec_for
from drivers.profile.file import parse_profile
from drivers.reading import Instant, Outcome, Reading, Reject, plain

Decode = Callable[..., list[Outcome]]

HEAD = 'schema = 1\nid = "t"\nkind = "text"\n[frame]\nend = "\\r\\n"\n'
NUMBER = '[[layout]]\nname = "number"\nform = "fixed"\nsign = "optional"\n'
INT = '[[layout]]\nname = "number"\nform = "int"\n'
UNIT = '[[layout]]\nname = "unit"\nmap = { mm = "mm", in = "in" }\n'
FAULT = '[[layout]]\nname = "flag"\nmap = { E = "!fault", G = "" }\n'
EXPONENT = '[[layout]]\nlit = ";"\n[[layout]]\nname = "exponent"\nsign = "optional"\n'
HEX_SUM = '[check]\nkind = "sum8"\nform = "hex2"\n'
DMS = '[[layout]]\nname = "number"\nform = "dms"\nsep = " "\n'


def one(outcomes: list[Outcome]) -> Outcome:
    (only,) = outcomes
    return only


def code(outcomes: list[Outcome]) -> str:
    """The error code of the one outcome, or the value of the reading."""
    only = one(outcomes)
    return only.code if isinstance(only, Reject) else plain(only.value)


def reading(outcomes: list[Outcome]) -> Reading:
    only = one(outcomes)
    assert isinstance(only, Reading), only
    return only


def reject(outcomes: list[Outcome]) -> Reject:
    only = one(outcomes)
    assert isinstance(only, Reject), only
    return only


# --- the order of the tests ---


def test_an_empty_frame_is_empty_before_its_check_is_missing(decode: Decode) -> None:
    assert code(decode(HEAD + HEX_SUM + NUMBER, b"\r\n")) == "empty"


@pytest.mark.parametrize("byte", [b"\x00", b"\x1f", b"\x7f", b"\x80", b"\xff", b"\r"])
def test_encoding_is_tested_before_the_check(decode: Decode, byte: bytes) -> None:
    assert code(decode(HEAD + HEX_SUM + NUMBER, b"1.5" + byte + b"00\r\n")) == "encoding"


@pytest.mark.parametrize("text", [b" ", b"~"])
def test_the_outermost_printable_bytes_are_not_encoding(decode: Decode, text: bytes) -> None:
    assert code(decode(HEAD + NUMBER, text + b"\r\n")) == "syntax"


def test_the_check_covers_the_spaces_that_trim_takes_away(decode: Decode) -> None:
    text = HEAD + "trim = true\n" + HEX_SUM + NUMBER
    # 20 + 31 + 2e + 35 = b4
    assert code(decode(text, b" 1.5B4\r\n")) == "1.5"
    assert code(decode(text, b" 1.5B4 \r\n")) == "syntax"


def test_the_check_is_tested_before_conditions(decode: Decode) -> None:
    text = HEAD + HEX_SUM + NUMBER + '[conditions]\nERR1 = "overrange"\n'
    # 45 + 52 + 52 + 31 = 11a
    assert code(decode(text, b"ERR11A\r\n")) == "gauge.overrange"
    assert code(decode(text, b"ERR100\r\n")) == "checksum"


def test_conditions_see_the_trimmed_text(decode: Decode) -> None:
    text = HEAD + "trim = true\n" + NUMBER + '[conditions]\nERR1 = "overrange"\n'
    assert code(decode(text, b"  ERR1 \r\n")) == "gauge.overrange"


def test_without_trim_a_space_spoils_the_condition(decode: Decode) -> None:
    text = HEAD + NUMBER + '[conditions]\nERR1 = "overrange"\n'
    assert code(decode(text, b"ERR1 \r\n")) == "syntax"


def test_conditions_are_tested_before_the_layout(decode: Decode) -> None:
    assert (
        code(decode(HEAD + NUMBER + '[conditions]\n"9.9" = "open"\n', b"9.9\r\n")) == "gauge.open"
    )


def test_a_question_mark_stands_for_any_one_character(decode: Decode) -> None:
    text = HEAD + NUMBER + '[conditions]\n"E?" = "error"\n"E1" = "low-battery"\n'
    assert code(decode(text, b"E7\r\n")) == "gauge.error"
    assert code(decode(text, b"E1\r\n")) == "gauge.low-battery"
    assert code(decode(text, b"E\r\n")) == "syntax"
    assert code(decode(text, b"E77\r\n")) == "syntax"


def test_a_status_is_tested_before_a_sentinel(decode: Decode) -> None:
    text = HEAD + NUMBER + FAULT + '[[sentinel]]\nvalue = "0"\nname = "zero"\n'
    assert code(decode(text, b"0.0E\r\n")) == "gauge.fault"
    assert code(decode(text, b"0.0G\r\n")) == "gauge.zero"


def test_a_sentinel_is_equal_in_value_and_tested_before_the_range(decode: Decode) -> None:
    text = HEAD + NUMBER + '[[sentinel]]\nvalue = "99.9"\nname = "open"\n[value]\nmax = "10"\n'
    assert code(decode(text, b"99.9\r\n")) == "gauge.open"
    assert code(decode(text, b"099.900\r\n")) == "gauge.open"
    assert code(decode(text, b"-99.9\r\n")) == "-99.9"
    assert code(decode(text, b"99.8\r\n")) == "range"


def test_a_status_is_tested_before_a_hostile_exponent(decode: Decode) -> None:
    assert code(decode(HEAD + INT + EXPONENT + FAULT, b"1;99999E\r\n")) == "gauge.fault"
    assert code(decode(HEAD + INT + EXPONENT + FAULT, b"1;99999G\r\n")) == "range"


def test_a_sentinel_is_tested_before_minutes_over_59(decode: Decode) -> None:
    text = HEAD + DMS + '[[sentinel]]\nvalue = "3602439"\nname = "open"\n'
    # 999 * 3600 + 99 * 60 + 99 = 3602439
    assert code(decode(text, b"999 99 99\r\n")) == "gauge.open"
    assert code(decode(text, b"999 99 98\r\n")) == "range"


def test_a_sentinel_of_zero_is_not_met_by_a_number_too_big_to_build(decode: Decode) -> None:
    text = (
        HEAD + '[[layout]]\nname = "number"\nform = "nrf"\n[[sentinel]]\nvalue = "0"\nname = "z"\n'
    )
    assert code(decode(text, b"1E99\r\n")) == "range"


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        ("10.0", "10.0"),
        ("10.000", "10.000"),
        ("10.001", "range"),
        ("-1.5", "-1.5"),
        ("-1.6", "range"),
    ],
)
def test_the_range_is_inclusive(decode: Decode, sent: str, told: str) -> None:
    text = HEAD + NUMBER + '[value]\nmin = "-1.50"\nmax = "1E1"\n'
    assert code(decode(text, sent.encode() + b"\r\n")) == told


@pytest.mark.parametrize(("power", "told"), [("40", "1" + "0" * 40), ("41", "range")])
def test_a_separate_exponent_over_40_is_out_of_range(decode: Decode, power: str, told: str) -> None:
    assert code(decode(HEAD + INT + EXPONENT, f"1;{power}\r\n".encode())) == told
    below = code(decode(HEAD + INT + EXPONENT, f"1;-{power}\r\n".encode()))
    assert below == ("0." + "0" * 39 + "1" if power == "40" else "range")


# --- value, unit, resolution ---


def test_a_reading_is_complete(decode: Decode) -> None:
    got = reading(decode(HEAD + NUMBER + UNIT, (7, b"-012.340mm\r\n")))
    assert (plain(got.value), got.unit, plain(got.resolution)) == ("-12.340", "mm", "0.001")
    assert (got.raw, got.channel, got.flags) == (b"-012.340mm", None, ())
    assert got.at.mono_ns == 7_000_000


def test_negative_zero_is_zero_and_raw_bytes_keep_the_sign(decode: Decode) -> None:
    got = reading(decode(HEAD + NUMBER, b"-0.000\r\n"))
    assert (plain(got.value), got.value.is_signed(), got.raw) == ("0.000", False, b"-0.000")


def test_a_sign_token_makes_the_number_negative(decode: Decode) -> None:
    text = HEAD + INT + '[[layout]]\nname = "sign"\nmap = { "-" = "-", "+" = "+" }\n'
    assert code(decode(text, b"15-\r\n")) == "-15"
    assert code(decode(text, b"15+\r\n")) == "15"


def test_flags_are_sorted_and_each_once(decode: Decode) -> None:
    bits = '[[layout]]\nname = "bits"\nwidth = 1\nbits = { "0" = "z", "1" = "a", "2" = "z" }\n'
    text = HEAD + NUMBER + '[[layout]]\nlit = ";"\n' + bits
    assert reading(decode(text, b"1.5;7\r\n")).flags == ("a", "z")


@pytest.mark.parametrize(
    ("value", "unit"), [("", ""), ('[value]\nunit = "um"\n', "um")], ids=["none", "declared"]
)
def test_the_declared_unit_stands_where_none_is_sent(decode: Decode, value: str, unit: str) -> None:
    optional = UNIT + "optional = true\n"
    assert reading(decode(HEAD + NUMBER + value, b"1.5\r\n")).unit == unit
    assert reading(decode(HEAD + NUMBER + optional + value, b"1.5\r\n")).unit == unit
    assert reading(decode(HEAD + NUMBER + optional + value, b"1.5in\r\n")).unit == "in"


@pytest.mark.parametrize(
    ("spec", "sent", "resolution"),
    [
        ("", "1.50mm", "0.01"),
        ('[value]\nresolution = "digits"\n', "1.5mm", "0.1"),
        ('[value]\nresolution = "0.0005"\n', "1.5mm", "0.0005"),
        ('[value]\nresolution = { mm = "0.001", in = "0.00005" }\n', "1.5mm", "0.001"),
        ('[value]\nresolution = { mm = "0.001", in = "0.00005" }\n', "1.5in", "0.00005"),
    ],
)
def test_the_resolution_is_declared_or_the_last_digit_sent(
    decode: Decode, spec: str, sent: str, resolution: str
) -> None:
    got = reading(decode(HEAD + NUMBER + UNIT + spec, sent.encode() + b"\r\n"))
    assert plain(got.resolution) == resolution


@pytest.mark.parametrize(
    ("layout", "sent", "value", "resolution"),
    [
        (INT + "decimals = 5\n", "01234500", "12.34500", "0.00001"),
        (INT + EXPONENT, "123;2", "12300", "100"),
        (INT + EXPONENT, "0;2", "0", "100"),
        (INT + "decimals = 3\n" + EXPONENT, "1234;-1", "0.1234", "0.0001"),
        (DMS, "0 01 01", "61", "1"),
        ('[[layout]]\nname = "number"\nform = "fraction"\n', "2 4/8", "2.5", "0.125"),
        ('[[layout]]\nname = "number"\nform = "nrf"\n', "1.25E3", "1250", "10"),
        ('[[layout]]\nname = "number"\nform = "exp"\n', "1.250E-2", "0.01250", "0.00001"),
    ],
)
def test_without_a_declared_one_the_digits_sent_say_the_resolution(
    decode: Decode, layout: str, sent: str, value: str, resolution: str
) -> None:
    got = reading(decode(HEAD + layout, sent.encode() + b"\r\n"))
    assert (plain(got.value), plain(got.resolution)) == (value, resolution)


# --- what a reject says ---


def test_a_reject_names_profile_position_and_bytes_twice(decode: Decode) -> None:
    got = reject(decode(HEAD + NUMBER + UNIT, b"1.5\\kg\r\n"))
    assert got.code == "unit"
    assert "profile t:" in got.detail
    assert "position 4" in got.detail
    assert "'mm'" in got.detail
    assert r"1.5\x5ckg" in got.detail  # a backslash is escaped, so that nothing is told twice
    assert b"1.5\\kg".hex() in got.detail


def test_a_reject_never_carries_control_bytes_in_its_words(decode: Decode) -> None:
    got = reject(decode(HEAD + NUMBER, b"+12.345\x1b[2J\xff\r\n"))
    assert got.detail.isprintable()
    assert got.detail.isascii()
    assert got.raw == b"+12.345\x1b[2J\xff"


def test_a_reject_counts_what_it_does_not_keep(decode: Decode) -> None:
    got = reject(decode(HEAD + "max_bytes = 8\n" + NUMBER, b"9" * 5000 + b"\r\n"))
    assert (got.code, got.raw, got.skipped) == ("overlong", b"9" * 8, 4992)
    assert "4992 more bytes" in got.detail


@pytest.mark.parametrize("digits", ["1" * 101 + ".0", "0." + "0" * 150 + "1"])
def test_more_digits_than_any_gauge_shows_are_out_of_range(digits: str) -> None:
    text = GOOD_LONG.replace("max_bytes = 32", "max_bytes = 4096")
    codec = codec_for(parse_profile(text, "long.toml"))
    (outcome,) = codec.feed(digits.encode() + b"\n", Instant(0, 0))
    assert isinstance(outcome, Reject)
    assert outcome.code == "range"


def test_leading_zeros_are_no_digits() -> None:
    text = GOOD_LONG.replace("max_bytes = 32", "max_bytes = 4096")
    codec = codec_for(parse_profile(text, "long.toml"))
    (outcome,) = codec.feed(b"0" * 500 + b"59.980\n", Instant(0, 0))
    assert isinstance(outcome, Reading)
    assert plain(outcome.value) == "59.980"


GOOD_LONG = """schema = 1
id = "long"
kind = "text"
[frame]
end = "\\n"
max_bytes = 32
[[layout]]
name = "number"
form = "fixed"
"""
