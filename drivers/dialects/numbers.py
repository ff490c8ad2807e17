"""Written numbers to exact decimals: one compiled matcher per declared form.

No `float`, no bare `Decimal(text)` on foreign text: each form first matches only ASCII digits in
the declared shape, so "nan", "1_000" or non-ASCII digits never reach the converter.
Source: IEEE 488.2 response forms NR1, NR2, NR3 and the loose listener form NRf (from memory).
"""

import re
from collections.abc import Callable
from decimal import Decimal
from typing import TypeAlias

import msgspec

from drivers.profile.layout_spec import Number

MOST_EXPONENT = 40
"""Largest power of ten believed; beyond it a number is `range`. Chosen by us: it covers the
not-a-number convention 9.91E37 and keeps plain notation short."""


MOST_DIGITS = 100
"""Digits of a number that is believed; beyond it a number is `range`. Chosen by us: no gauge shows
so many, and every value stays exact through all further arithmetic."""


class Written(msgspec.Struct, frozen=True, gc=False):
    """A number as it was written: `digits` x 10**`exponent10`, before a separate exponent or sign.

    `step` is one unit of the last digit sent where the form gives it otherwise than by its
    decimals (a fraction: one part of the denominator). `in_range` False: minutes or seconds over
    59, or an exponent beyond `MOST_EXPONENT`, where `digits` is empty: nothing that big is built.
    """

    negative: bool
    digits: str
    exponent10: int = 0
    step: Decimal | None = None
    in_range: bool = True


Matcher: TypeAlias = Callable[[str, int], tuple[Written, int] | None]
"""Text and position to the number there and the position behind it; None: not there."""

_SIGN = {"none": "()", "optional": "([+-]?)", "required": "([+-])"}
_SIGN_GAP = {"optional": "(?:([+-]) *)?", "required": "([+-]) *"}
_BODY = {
    "fixed": r"(\d+)SEP(\d+)",
    "exp": r"(\d+)SEP(\d+)[eE]([+-]\d+)",
    "nrf": r"(?:(\d+)(?:SEP(\d*))?|SEP(\d+))(?:[eE]([+-]?\d+))?",
    "dms": r"(\d+)SEP(\d+)SEP(\d+)",
    "fraction": r"(\d+)(?: (\d+)/(\d+)|/(\d+))?",
}


def fixed_pattern(spec: Number) -> str:
    """The pattern of a declared number of form `fixed`: sign, digits before and behind `sep`."""
    return _SIGN[spec.sign] + _BODY["fixed"].replace("SEP", re.escape(spec.sep or "."))


def matcher(spec: Number, sep: str) -> Matcher:
    """The matcher of one declared number, its separator being `sep`."""
    sign = _SIGN_GAP[spec.sign] if spec.gap else _SIGN[spec.sign]
    least, most = spec.width if isinstance(spec.width, tuple) else (spec.width or 0,) * 2
    if spec.form == "int":
        count = f"{{{least},{most}}}" if spec.width else "+"
        body, least, most = rf"(\d{count})", 0, 0
    else:
        body = _BODY[spec.form].replace("SEP", re.escape(sep))
    match = re.compile(sign + body, re.ASCII).match
    read = _READERS[spec.form]
    implied = spec.decimals or 0

    def find(text: str, pos: int) -> tuple[Written, int] | None:
        found = match(text, pos, pos + most) if most else match(text, pos)
        if found is None or found.end() - pos < least:
            return None
        written = read(found.groups(), implied)
        return None if written is None else (written, found.end())

    return find


Groups: TypeAlias = tuple[str | None, ...]


def _int(groups: Groups, implied: int) -> Written:
    return Written(groups[0] == "-", groups[1] or "0", -implied)


def _fixed(groups: Groups, _implied: int) -> Written:
    whole, part = groups[1] or "", groups[2] or ""
    return Written(groups[0] == "-", whole + part, -len(part))


def _exp(groups: Groups, _implied: int) -> Written:
    return _scaled(groups[0] == "-", groups[1] or "", groups[2] or "", groups[3] or "0")


def _nrf(groups: Groups, _implied: int) -> Written:
    part = groups[2] or groups[3] or ""
    return _scaled(groups[0] == "-", groups[1] or "", part, groups[4] or "0")


def _scaled(negative: bool, whole: str, part: str, exponent: str) -> Written:
    # The magnitude is tested on the text's own number before anything is scaled: a hostile
    # exponent must not build a gigabyte of zeros.
    power = int(exponent)
    if abs(power) > MOST_EXPONENT:
        return Written(negative, "", in_range=False)
    return Written(negative, whole + part, power - len(part))


def _dms(groups: Groups, _implied: int) -> Written:
    degrees, minutes, seconds = (int(group or "0") for group in groups[1:4])
    total = (degrees * 60 + minutes) * 60 + seconds
    return Written(groups[0] == "-", str(total), in_range=minutes <= 59 and seconds <= 59)


def _fraction(groups: Groups, _implied: int) -> Written | None:
    first, mixed_n, mixed_d, plain_d = groups[1] or "0", groups[2], groups[3], groups[4]
    if plain_d is not None:
        whole, numerator, denominator = 0, int(first), int(plain_d)
    elif mixed_n is not None and mixed_d is not None:
        whole, numerator, denominator = int(first), int(mixed_n), int(mixed_d)
    else:
        return Written(groups[0] == "-", first, step=Decimal(1))
    if denominator < 1 or denominator & (denominator - 1) or numerator >= denominator:
        return None  # only proper fractions of a power of two are exact decimals
    places = denominator.bit_length() - 1  # n / 2**p == n * 5**p / 10**p
    if places > MOST_EXPONENT:
        return Written(groups[0] == "-", "", in_range=False)
    scaled = (whole * denominator + numerator) * 5**places
    step = Decimal((0, _digits(5**places), -places))
    while places and scaled % 10 == 0:
        scaled, places = scaled // 10, places - 1
    return Written(groups[0] == "-", str(scaled), -places, step)


def _digits(number: int) -> tuple[int, ...]:
    return tuple(map(int, str(number)))


_READERS: dict[str, Callable[[Groups, int], Written | None]] = {
    "int": _int,
    "fixed": _fixed,
    "exp": _exp,
    "nrf": _nrf,
    "dms": _dms,
    "fraction": _fraction,
}
