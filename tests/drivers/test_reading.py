"""Moments, escaped bytes and plain numbers."""

import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from drivers.reading import Instant, Reading, Reject, escaped, plain, utc_day, utc_micros, utc_text

YEAR_9999_US = 253_402_300_799_999_999
"""The last microsecond that a date of four digits can name: 9999-12-31T23:59:59.999999Z."""


@pytest.mark.parametrize(
    ("micros", "text"),
    [
        (0, "1970-01-01T00:00:00.000000Z"),
        (1, "1970-01-01T00:00:00.000001Z"),
        (951_782_400_000_000, "2000-02-29T00:00:00.000000Z"),  # 11016 days * 86400 s
        (1_000_000_000_500_000, "2001-09-09T01:46:40.500000Z"),  # the well-known 10**9 s
        (YEAR_9999_US, "9999-12-31T23:59:59.999999Z"),
    ],
)
def test_a_moment_is_written_with_six_decimals(micros: int, text: str) -> None:
    assert utc_text(micros) == text
    assert utc_micros(text) == micros


@given(st.integers(0, YEAR_9999_US))
def test_every_moment_comes_back(micros: int) -> None:
    text = utc_text(micros)
    assert utc_micros(text) == micros
    assert datetime.fromisoformat(text).astimezone(UTC).microsecond == micros % 1_000_000


@given(st.integers(0, YEAR_9999_US), st.integers(0, 26), st.characters(codec="utf-8"))
@example(0, 17, "6")  # a second of 60 and more
@example(0, 5, "9")  # no such month
@example(0, 18, "\u0663")  # a digit of another script
def test_a_moment_with_one_other_character_is_read_as_its_form_says(
    micros: int, at: int, char: str
) -> None:
    """The form, and what a day and a time of day are, by another way of reading them."""
    text = utc_text(micros)
    changed = text[:at] + char + text[at + 1 :]
    try:
        wanted = _by_strptime(changed)
    except ValueError:
        with pytest.raises(ValueError, match=r"\S"):
            utc_micros(changed)
    else:
        assert utc_micros(changed) == wanted


def _by_strptime(text: str) -> int:
    if not re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z", text, re.ASCII):
        raise ValueError(text)
    if text[17] > "5":
        raise ValueError(text)  # strptime takes a leap second
    moment = datetime.strptime(text, "%Y-%m-%dT%H:%M:%S.%fZ").replace(tzinfo=UTC)
    return (moment - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(microseconds=1)


@pytest.mark.parametrize(
    "text",
    [
        "2026-11-25T08:00:00Z",
        "2026-11-25T08:00:00.123Z",
        "2026-11-25T08:00:00.1234567Z",
        "2026-11-25 08:00:00.123456Z",
        "2026-11-25T08:00:00.123456",
        "2026-11-25T08:00:00.123456+00:00",
        "2026-1-25T08:00:00.123456Z",
        "2026-02-30T08:00:00.123456Z",
        " 2026-11-25T08:00:00.123456Z",
        "",
    ],
)
def test_any_other_way_to_write_a_moment_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"\S"):
        utc_micros(text)


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        (b"+12.345 mm~", "+12.345 mm~"),
        (b"\x02\x1b[2J\x7f\xff\r\n", r"\x02\x1b[2J\x7f\xff\x0d\x0a"),
        (b"\\x41", r"\x5cx41"),
        (b"", ""),
        (b"x" * 48, "x" * 48),
        (b"x" * 49, "x" * 48 + "… (49 bytes)"),
    ],
)
def test_bytes_are_shown_harmless_and_bounded(raw: bytes, text: str) -> None:
    assert escaped(raw) == text


@given(st.binary(max_size=60))
def test_escaped_bytes_are_always_printable(raw: bytes) -> None:
    assert escaped(raw).isprintable()


@given(st.binary(max_size=40))
def test_escaped_bytes_can_be_read_back(raw: bytes) -> None:
    assert escaped(raw).encode("ascii").decode("unicode_escape").encode("latin-1") == raw


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (Decimal("1.2E+3"), "1200"),
        (Decimal("1E-7"), "0.0000001"),
        (Decimal("12.340"), "12.340"),
        (Decimal("0E-3"), "0.000"),
        (Decimal("-0.5"), "-0.5"),
    ],
)
def test_a_decimal_is_written_without_exponent_and_with_its_zeros(
    number: Decimal, text: str
) -> None:
    assert plain(number) == text


def test_readings_and_rejects_cannot_be_changed() -> None:
    at = Instant(0, 0)
    reading = Reading(Decimal(1), "mm", Decimal("0.1"), b"1", at)
    reject = Reject("syntax", "words", b"x", at)
    for record in (at, reading, reject):
        name = record.__struct_fields__[0]
        with pytest.raises(AttributeError):
            setattr(record, name, getattr(record, name))


def test_a_day_is_that_of_utc_to_the_last_microsecond() -> None:
    midnight = utc_micros("2026-11-25T00:00:00.000000Z")
    assert str(utc_day(midnight)) == "2026-11-25"
    assert str(utc_day(midnight - 1)) == "2026-11-24"
