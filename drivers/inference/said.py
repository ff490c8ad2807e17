"""What inference and the operator say to each other: displays typed, questions, refusals. Pure."""

import re
from decimal import Decimal
from typing import Literal

import msgspec

UNIT_WORDS = {
    "mm": "mm",
    "um": "um",
    "µm": "um",
    "μm": "um",
    "in": "in",
    "inch": "in",
    '"': "in",
    "deg": "deg",
    "arcsec": "arcsec",
}
"""Spellings of a unit, lower case, to the unit's name in a profile. Chosen by us; a spelling
that is not here is asked for."""

ARC_SECONDS = "arcsec"

_DECIMAL = re.compile(r"([+-]?)\s*(\d{1,20})(?:[.,](\d{1,20}))?", re.ASCII)
_LOOSE = re.compile(r"([+-]?)\s*[.,](\d{1,20})", re.ASCII)
_POWER = re.compile(r"([+-]?)(\d{1,12})(?:[.,](\d{1,12}))?[eE]([+-]?\d{1,2})", re.ASCII)
_FRACTION = re.compile(r"([+-]?)\s*(?:(\d{1,6})\s+)?(\d{1,4})/(\d{1,4})", re.ASCII)
_ANGLE = re.compile(r"([+-]?)\s*(\d{1,4})[°: ]\s*(\d{1,2})[': ]\s*(\d{1,2})\"?", re.ASCII)

ShownForm = Literal["decimal", "power", "fraction", "angle"]


class CannotInfer(Exception):
    """These presses make no profile; says why, and which press or option would help."""


class Shown(msgspec.Struct, frozen=True):
    """What the display showed for one press. `decimals` are those typed; `unit` "" was not said.

    An angle of degrees, minutes and seconds is its arc seconds.
    """

    text: str
    value: Decimal
    decimals: int
    unit: str
    form: ShownForm


class Question(msgspec.Struct, frozen=True):
    """What the presses do not settle. `key` names it in an answer.

    `default` is what --accept takes: None where no guess is safe. `settles` is the press that would
    make the question go away, "" where none does. `values` are what it is about: texts seen, the
    number of a frame, or keys of fields, with what stood there in `texts`.
    """

    key: str
    text: str
    choices: tuple[str, ...]
    default: str | None
    settles: str = ""
    values: tuple[str, ...] = ()
    texts: tuple[str, ...] = ()


def parse_shown(text: str) -> Shown:
    """A typed display like "12.345 mm", "1 3/8 in" or "12 34 56"; ValueError with the reason."""
    bare, unit = _split_unit(text.strip())
    for form, pattern in (
        ("decimal", _DECIMAL),
        ("decimal", _LOOSE),
        ("power", _POWER),
        ("fraction", _FRACTION),
        ("angle", _ANGLE),
    ):
        found = pattern.fullmatch(bare)
        if found is not None:
            return _shown(text.strip(), found, pattern, form, unit)  # type: ignore[arg-type] # literals
    raise ValueError(f'{text!r} is not a size as a display shows it, like "12.345 mm"')


def _split_unit(text: str) -> tuple[str, str]:
    found = re.fullmatch(r'(.*?[\d/.,])\s*([A-Za-zµμ]+|")', text)
    if found is None or found[2].lower() not in UNIT_WORDS:
        return text, ""
    if found[2] == '"' and _ANGLE.fullmatch(text):
        return text, ""
    return found[1], UNIT_WORDS[found[2].lower()]


def _shown(
    text: str, found: re.Match[str], pattern: re.Pattern[str], form: ShownForm, unit: str
) -> Shown:
    groups = found.groups()
    if pattern is _FRACTION:
        whole, above, below = int(groups[1] or 0), int(groups[2]), int(groups[3])
        if not below or below & (below - 1) or above >= below:
            raise ValueError(
                f"{text!r}: write a fraction like 3/64, under 1 and over 2, 4, 8 or so"
            )
        places = below.bit_length() - 1
        value = Decimal((0, _digits((whole * below + above) * 5**places), -places))
        decimals = places
    elif pattern is _ANGLE:
        degrees, minutes, seconds = (int(group) for group in groups[1:])
        if minutes > 59 or seconds > 59:
            raise ValueError(f"{text!r}: minutes and seconds are at most 59")
        value, decimals, unit = Decimal((degrees * 60 + minutes) * 60 + seconds), 0, ARC_SECONDS
    else:
        whole_text = "" if pattern is _LOOSE else groups[1]
        part = (groups[1] if pattern is _LOOSE else groups[2]) or ""
        power = int(groups[3]) if pattern is _POWER else 0
        decimals = len(part) - power
        value = Decimal((0, _digits(int(whole_text + part)), -decimals))
    if groups[0] == "-" and value:
        value = value.copy_negate()
    return Shown(text, value, decimals, unit, form)


def _digits(number: int) -> tuple[int, ...]:
    return tuple(map(int, str(number)))
