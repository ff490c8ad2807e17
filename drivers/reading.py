"""What a gauge gives: readings, rejects and the instant at which each arrived."""

import re
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from functools import lru_cache
from typing import TypeAlias

import msgspec

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MINUTE_US = 60_000_000
_TWO = tuple(f"{number:02d}" for number in range(60))


LATE = "late"
"""Flag of an answer that came when its time was up: it may belong to an earlier request."""


class Instant(msgspec.Struct, frozen=True, gc=False):
    """One moment: `utc_us` for the record (microseconds since 1970-01-01 UTC), `mono_ns` for
    intervals within one run (nanoseconds of a clock that never goes back).
    """

    utc_us: int
    mono_ns: int


class Reading(msgspec.Struct, frozen=True, gc=False):
    """One number from a gauge, complete and unrounded.

    `value` and `resolution` are in `unit` and in plain notation: the digits that were sent, leading
    zeros dropped, trailing ones kept. `raw` holds the frame as it came, without its end mark.
    `flags` are sorted, each once.
    """

    value: Decimal
    unit: str
    resolution: Decimal
    raw: bytes
    at: Instant
    channel: str | None = None
    flags: tuple[str, ...] = ()


class Reject(msgspec.Struct, frozen=True, gc=False):
    """Bytes that gave no reading: `code` from the closed list of frame errors, `detail` in words.

    `raw` is bounded by the profile's longest frame; `skipped` counts further bytes that belong to
    the same outcome and were not kept. `flags` may hold `first-after-open`.
    """

    code: str
    detail: str
    raw: bytes
    at: Instant
    skipped: int = 0
    flags: tuple[str, ...] = ()


Outcome: TypeAlias = Reading | Reject


def utc_text(utc_us: int) -> str:
    """The moment as `2026-11-25T08:00:00.123456Z`; always six decimals."""
    minute, rest = divmod(utc_us, _MINUTE_US)
    second, micros = divmod(rest, 1_000_000)
    return f"{_minute_text(minute)}{_TWO[second]}.{micros:06d}Z"


def utc_day(utc_us: int) -> date:
    """The UTC day of a moment in microseconds."""
    return datetime.fromtimestamp(utc_us // 1_000_000, UTC).date()


@lru_cache(maxsize=64)
def _minute_text(minute: int) -> str:
    """A minute counted from 1970 on, as far as its colon, kept: every line stored and shown needs
    it.
    """
    return (_EPOCH + timedelta(minutes=minute)).strftime("%Y-%m-%dT%H:%M:")


_FORM = re.compile(
    r"([0-9]{4})-([0-9]{2})-([0-9]{2})T([0-9]{2}):([0-9]{2}):([0-9]{2})\.([0-9]{6})Z", re.ASCII
)
_EPOCH_DAY = _EPOCH.toordinal()


def utc_micros(text: str) -> int:
    """The inverse of `utc_text`; ValueError for anything that is not exactly that form."""
    seconds = text[17:19] + text[20:26]
    if len(text) == 27 and text[19] + text[26] == ".Z" and seconds.isascii() and seconds.isdigit():
        minute_us, within_us = _minute_us(text[:17]), int(seconds)
        if minute_us is not None and within_us < _MINUTE_US:
            return minute_us + within_us
    return _micros(text)


@lru_cache(maxsize=64)
def _minute_us(text: str) -> int | None:
    """The moment at which a minute begins, from `2026-11-25T08:00:`, kept: of the lines of a
    session many are of the same one. None if it is no minute.
    """
    try:
        return _micros(f"{text}00.000000Z")
    except ValueError:
        return None


def _micros(text: str) -> int:
    found = _FORM.fullmatch(text)
    if found is None:
        raise ValueError(f"not a UTC time with six decimals: {text!r}")
    year, month, day, hour, minute, second, micros = map(int, found.groups())
    moment = datetime(year, month, day, hour, minute, second, tzinfo=UTC)
    days = moment.toordinal() - _EPOCH_DAY
    return ((days * 24 + hour) * 60 + minute) * _MINUTE_US + second * 1_000_000 + micros


def escaped(raw: bytes, most: int = 48) -> str:
    """Bytes as harmless text for a terminal: printable ASCII as it is, the rest as `\\xNN`."""
    shown = raw[:most]
    text = "".join(
        chr(byte) if 0x20 <= byte <= 0x7E and byte != 0x5C else f"\\x{byte:02x}" for byte in shown
    )
    return text if len(raw) <= most else f"{text}… ({len(raw)} bytes)"


def plain(number: Decimal) -> str:
    """A decimal in plain notation: no exponent, trailing zeros kept."""
    return format(number, "f")
