"""Written numbers to exact decimals: one pattern and one reader per declared form.

No `float`, no bare `Decimal(text)` on foreign text: each form first matches only ASCII digits in
the declared shape, so "nan", "1_000" or non-ASCII digits never reach the converter.
Source: IEEE 488.2 response forms NR1, NR2, NR3 and the loose listener form NRf (from memory).
"""

import re
from collections.abc import Callable
from decimal import Decimal
from functools import lru_cache
from typing import Any, TypeAlias

from drivers.dialects.fields import TOO_LARGE, Written, written
from drivers.profile.layout_spec import Number

MOST_EXPONENT = 40
"""Largest power of ten believed; beyond it a number is `range`. Chosen by us: it covers the
not-a-number convention 9.91E37 and keeps plain notation short."""


MOST_DIGITS = 100
"""Digits of a number that is believed; beyond it a number is `range`. Chosen by us: no gauge shows
so many, and every value stays exact through all further arithmetic."""


Groups: TypeAlias = tuple[Any, ...]
"""What the groups of a pattern matched: texts, and None for those of a way not taken."""
Reader: TypeAlias = Callable[[Groups], Written | None]
"""The groups with a number's among them to that number; None: they make none."""
Matcher: TypeAlias = Callable[[str, int], tuple[Written, int] | None]
"""Text and position to the number there and the position behind it; None: not there."""

OPTIONAL_SIGN = {"none": "", "optional": "[+-]?+", "required": "[+-]"}
"""A declared sign as a pattern."""
_SIGN_GAP = {"none": "", "optional": "(?:[+-] *+)?", "required": "[+-] *+"}
_BODY = {
    "int": r"SIGN\dCOUNT)",
    "fixed": r"SIGN\d++SEP(\d++))",
    "exp": r"SIGN\d++SEP(\d++))[eE]([+-]\d++)",
    "nrf": r"SIGN(?:\d+(?:SEP(\d*))?|SEP(\d+)))(?:[eE]([+-]?\d+))?",
    "dms": r"SIGN)(\d++)SEP(\d++)SEP(\d++)",
    "fraction": r"SIGN)(\d+)(?: (\d+)/(\d+)|/(\d+))?",
}
"""Each form behind the opening bracket of its first group."""
_BACKTRACKS = ("nrf", "fraction")
"""Forms whose parts may have to try more than one way until the whole matches."""


def number_pattern(spec: Number) -> str:
    """The pattern of a declared number for `re.ASCII`, its first group named `number`: it gives
    nothing back. `token_bounds` and `exact_decimals` are left to whoever matches.
    """
    sign = _SIGN_GAP[spec.sign] if spec.gap else OPTIONAL_SIGN[spec.sign]
    least, most = bounds(spec.width)
    count = f"{{{least},{most}}}+" if spec.width else "++"
    body = _BODY[spec.form].replace("SIGN", sign).replace("COUNT", count)
    pattern = f"(?P<number>{body.replace('SEP', re.escape(spec.sep or '.'))}"
    return f"(?>{pattern})" if spec.form in _BACKTRACKS else pattern


def number_reader(spec: Number, at: int = 0) -> Reader:
    """What the groups of this number's pattern mean, the first being at place `at`."""
    read = _int(at, -(spec.decimals or 0)) if spec.form == "int" else _READERS[spec.form](at)
    if spec.sep != "," and not spec.gap:
        return read

    def read_tidied(groups: Groups) -> Written | None:
        tidy = groups[at].replace(" ", "").replace(",", ".")
        return read((*groups[:at], tidy, *groups[at + 1 :]))

    return read_tidied


@lru_cache(maxsize=32)
def matcher(spec: Number) -> Matcher:
    """The matcher of one declared number by itself, made once, whatever comes behind it."""
    match = re.compile(number_pattern(spec), re.ASCII).match
    read = number_reader(spec)
    least, most = token_bounds(spec)

    def find(text: str, pos: int) -> tuple[Written, int] | None:
        found = match(text, pos, pos + most) if most else match(text, pos)
        if found is None or found.end() - pos < least:
            return None
        number = read(found.groups())
        return None if number is None else (number, found.end())

    return find


def token_bounds(spec: Number) -> tuple[int, int]:
    """The least and the greatest length of the whole token, for its pattern does not say it; 0 and
    0 where it may be of any: the width of form int is that of its digits.
    """
    return (0, 0) if spec.form == "int" else bounds(spec.width)


def exact_decimals(spec: Number) -> int | None:
    """How many decimals must be sent; None: any number of them, or they are implied."""
    return spec.decimals if spec.form in ("fixed", "exp") else None


def bounds(width: int | tuple[int, int] | None) -> tuple[int, int]:
    """The least and the greatest of a declared width; 0 and 0 where there is none."""
    return width if isinstance(width, tuple) else (width or 0, width or 0)


def _int(at: int, power: int) -> Reader:
    def read(groups: Groups) -> Written:
        return groups[at], power, 0, None, True

    return read


def _fixed(at: int) -> Reader:
    part = at + 1

    def read(groups: Groups) -> Written:
        return groups[at], 0, len(groups[part]), None, True

    return read


def _exp(at: int) -> Reader:
    def read(groups: Groups) -> Written:
        text, part, exponent = groups[at : at + 3]
        return _scaled(text, len(part), exponent)

    return read


def _nrf(at: int) -> Reader:
    def read(groups: Groups) -> Written:
        text, behind, alone, exponent = groups[at : at + 4]
        return _scaled(text, len(behind or alone or ""), exponent or "0")

    return read


def _scaled(text: str, decimals: int, exponent: str) -> Written:
    # The magnitude is tested on the text's own number before anything is scaled: a hostile
    # exponent must not build a gigabyte of zeros.
    power = int(exponent)
    if abs(power) > MOST_EXPONENT:
        return written("", 0, decimals, in_range=False)
    return text, power, decimals, None, True


def _dms(at: int) -> Reader:
    def read(groups: Groups) -> Written:
        degrees, minutes, seconds = map(int, groups[at + 1 : at + 4])
        total = (degrees * 60 + minutes) * 60 + seconds
        return written(f"{groups[at]}{total}", in_range=minutes <= 59 and seconds <= 59)

    return read


def _fraction(at: int) -> Reader:
    def read(groups: Groups) -> Written | None:
        sign, first, mixed_n, mixed_d, plain_d = groups[at : at + 5]
        if plain_d is not None:
            return _ratio(sign, 0, int(first), int(plain_d))
        if mixed_d is not None:
            return _ratio(sign, int(first), int(mixed_n), int(mixed_d))
        return written(f"{sign}{first}", step=Decimal(1))

    return read


def _ratio(sign: str, whole: int, numerator: int, denominator: int) -> Written | None:
    if denominator < 1 or denominator & (denominator - 1) or numerator >= denominator:
        return None  # only proper fractions of a power of two are exact decimals
    places = denominator.bit_length() - 1  # n / 2**p == n * 5**p / 10**p
    if places > MOST_EXPONENT:
        return TOO_LARGE
    scaled = (whole * denominator + numerator) * 5**places
    step = Decimal((0, _digits(5**places), -places))
    while places and scaled % 10 == 0:
        scaled, places = scaled // 10, places - 1
    return written(f"{sign}{scaled}", -places, step=step)


def _digits(number: int) -> tuple[int, ...]:
    return tuple(map(int, str(number)))


_READERS: dict[str, Callable[[int], Reader]] = {
    "fixed": _fixed,
    "exp": _exp,
    "nrf": _nrf,
    "dms": _dms,
    "fraction": _fraction,
}
