"""Single values of a plan: names, numbers, lengths, limits with a cross-check, bands.

Every function takes the `key` of its value and raises WrongKey with it. `read_...` gives what is
written and raises only where that has not the shape of such a value; `check_...` refuses by the
rules of today too. What is left out, None, is right where it may be.
"""

import re
from decimal import Decimal
from fractions import Fraction

from daq.lengths import EXACT, MM_PER, Length, parse_length, plain
from daq.plan.schema import MOST_NAME
from drivers.printable import shown
from drivers.toml_file import WrongKey

MOST_TEXT_SHOWN = 40
MOST_WHOLE, MOST_DECIMALS = 6, 9
"""Digits of a length before and after its point."""

_LIMIT_PAIR = (
    "a list of two stands here: the limit, then the same in the other unit as the manual prints "
    'it, like ["59.97 mm", "2.3610 in"]'
)
_BAND_PAIR = (
    'a list of two stands here: the smallest, then the largest, like ["64.000 mm", "64.019 mm"]'
)
_ALMOST = re.compile(r"([+-]?\d+(?:[.,]\d+)?) *(.*)", re.ASCII | re.DOTALL)
_UNITS = {
    **dict.fromkeys(("inch", "inches", "ins", '"', "''", "\u2033", "zoll"), "in"),
    **dict.fromkeys(("millimetre", "millimetres", "millimeter", "millimeters"), "mm"),
    **dict.fromkeys(("\u00b5m", "\u03bcm", "micron", "microns", "\u00b5", "\u03bc"), "um"),
}
"""Other ways to write the units that are known. Both signs for micro are in use."""


def quoted(text: str) -> str:
    """A text of somebody's in quotes, safe to print, cut short."""
    return f'"{shown(text, MOST_TEXT_SHOWN)}"'


def check_name(text: str, key: str) -> None:
    """Refuse a name that may not stand in a place and a table."""
    if not text.strip():
        raise WrongKey(key, f"is empty: a name has 1 to {MOST_NAME} characters")
    if len(text) > MOST_NAME:
        raise WrongKey(key, f"has {len(text)} characters, at most {MOST_NAME}: shorten it")
    if not text.isprintable():
        raise WrongKey(
            key,
            f"{quoted(text)} has characters that nobody can see, which may steer a screen: type it "
            "anew",
        )
    if "/" in text:
        meant = text.replace("/", "-")
        raise WrongKey(
            key,
            f"{quoted(text)} has a /, which stands between journal, station and angle: write "
            f"{quoted(meant)}, say",
        )


def check_between(number: float, low: int | float, high: int | float, key: str) -> None:
    """Refuse a number outside [low, high], NaN too."""
    if not low <= number <= high:
        is_endless = isinstance(number, int) and number.bit_length() > 64
        given = "this number" if is_endless else f"{number:g}"
        raise WrongKey(
            key,
            f"{given} is not between {low} and {high}: write a number from {low} to {high}",
        )


def read_length(text: str, key: str) -> Length:
    """A length of either sign; raises WrongKey for what is none, saying what to write."""
    try:
        return parse_length(text)
    except ValueError as error:
        raise WrongKey(key, _length_words(text)) from error


def check_positive(text: str | None, key: str) -> None:
    """Refuse a length that is none or not above zero; one that is left out is right."""
    if text is None:
        return
    found = read_length(text, key)
    if found.value <= 0:
        raise WrongKey(key, f"{found} is not above zero: write a length that is")


def _length_words(text: str) -> str:
    """Why a text is no length, and what to write."""
    if not text.strip():
        return 'is empty: write a length with its unit, like "59.97 mm" or "2.3610 in"'
    almost = _ALMOST.fullmatch(text.strip())
    if almost is None:
        return f'{quoted(text)} is no length: write it like "59.97 mm" or "2.3610 in"'
    number, unit = almost[1].replace(",", "."), almost[2].strip()
    known = _UNITS.get(unit.casefold(), unit.casefold())
    whole, _, decimals = number.lstrip("+-").partition(".")
    if len(whole) > MOST_WHOLE or len(decimals) > MOST_DECIMALS:
        return (
            f"{quoted(text)} has too many digits: at most {MOST_WHOLE} before the point and "
            f"{MOST_DECIMALS} after it"
        )
    if not unit:
        return f'{quoted(text)} needs its unit: write "{number} mm" or "{number} in"'
    if known not in MM_PER:
        return (
            f'{quoted(text)} is no length in mm, um or in: write it like "59.97 mm" or "2.3610 in"'
        )
    if known == unit:
        return f'{quoted(text)} has a comma: write a point, "{number} {unit}"'
    return f'{quoted(text)}: write "{number} {known}"'


def read_limit(spec: str | list[str], key: str) -> Length:
    """A limit as stated; where it has a cross-check, the first of the two."""
    if isinstance(spec, str):
        return read_length(spec, key)
    stated, _ = _two_lengths(spec, key, _LIMIT_PAIR)
    return stated


def read_optional_limit(spec: str | list[str] | None, key: str) -> Length | None:
    """A limit if there is one."""
    return None if spec is None else read_limit(spec, key)


def check_limit(spec: str | list[str] | None, key: str) -> None:
    """Refuse a limit not above zero, and one that its cross-check in the other unit belies."""
    if spec is None or isinstance(spec, str):
        check_positive(spec, key)
        return
    for text in _two(spec, key, _LIMIT_PAIR):
        check_positive(text, key)
    stated, cross = _two_lengths(spec, key, _LIMIT_PAIR)
    if (stated.unit == "in") == (cross.unit == "in"):
        unit = "inches" if stated.unit == "in" else "mm"
        raise WrongKey(
            key,
            f"{stated} and {cross} are both in {unit}: the second is the same limit in the other "
            "unit, as the manual prints it. Leave it out where there is none",
        )
    off = EXACT.subtract(stated.mm, cross.mm).copy_abs()
    if off > cross.step_mm:
        raise WrongKey(
            key,
            f"{stated} and its cross-check {cross} differ by {off:f} mm, more than one unit of "
            f"the cross-check's last digit ({cross.step_mm:f} mm): {in_other_unit(stated)}, and "
            f"{in_other_unit(cross)}. One of them is wrong: see the maker's manual and correct it",
        )


def in_other_unit(stated: Length) -> str:
    """A length and what it is in the other unit: exact mm, or inches to the digits it carries."""
    if stated.unit == "in":
        return f"{stated} is {plain(stated.mm.normalize(EXACT))} mm"
    # A step of 0.001 mm is 0.000 039 in: five decimals keep what three decimals of mm carry.
    inches = Fraction(stated.mm) / Fraction(MM_PER["in"])
    return f"{stated} is {plain(EXACT.scaleb(Decimal(round(inches * 10**5)), -5))} in"


def read_band(spec: list[str] | None, key: str) -> tuple[Length, Length] | None:
    """The smallest and the largest of something, if stated."""
    return None if spec is None else _two_lengths(spec, key, _BAND_PAIR)


def check_band(spec: list[str] | None, key: str) -> None:
    """Refuse a band not above zero or upside down; its two ends may be equal."""
    if spec is None:
        return
    for text in _two(spec, key, _BAND_PAIR):
        check_positive(text, key)
    low, high = _two_lengths(spec, key, _BAND_PAIR)
    if low.mm > high.mm:
        raise WrongKey(
            key, f"upside down: the smallest, {low}, is over the largest, {high}: exchange them"
        )


def _two(spec: list[str], key: str, what: str) -> tuple[str, str]:
    """The two texts of a list; `what` says what a list holds here."""
    if len(spec) != 2:
        raise WrongKey(key, what)
    return spec[0], spec[1]


def _two_lengths(spec: list[str], key: str, what: str) -> tuple[Length, Length]:
    first, second = _two(spec, key, what)
    return read_length(first, key), read_length(second, key)


__all__ = [
    "check_band",
    "check_between",
    "check_limit",
    "check_name",
    "check_positive",
    "in_other_unit",
    "quoted",
    "read_band",
    "read_length",
    "read_limit",
    "read_optional_limit",
]
