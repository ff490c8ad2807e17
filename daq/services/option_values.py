"""What single options may say, checked; light, since every --help loads it."""

import re
from contextlib import suppress
from decimal import Decimal

from daq.errors import UsageError
from daq.lengths import Length, parse_length, parse_typed_length

MOST_TEXT = 200

_DEGREES = re.compile(r"\+?(-?\d{1,3}(?:\.\d{1,6})?)", re.ASCII)


def text_of(value: str, option: str) -> str:
    """A text that can be stored: at most 200 characters of valid Unicode. Raises UsageError."""
    try:
        value.encode("utf-8")
    except UnicodeEncodeError as error:
        raise UsageError("not valid UTF-8 text", option) from error
    if len(value) > MOST_TEXT:
        raise UsageError(f"at most {MOST_TEXT} characters", option)
    return value


def length_of(text: str | None, option: str) -> Length | None:
    """A length above zero; None for None. Raises UsageError."""
    if text is None:
        return None
    try:
        length = parse_typed_length(text)
    except ValueError as error:
        raise UsageError(str(error), option) from error
    if length.value <= 0:
        raise UsageError(f"{length} is not above zero", option)
    return length


def stack_of(word: str | None) -> str | None:
    """A stack's name as it is, a size that people write otherwise as this program writes it."""
    if word is None:
        return None
    try:
        parse_length(word)
    except ValueError:
        with suppress(ValueError):
            return str(parse_typed_length(word))
    return word


def degrees_of(text: str | None, option: str) -> str:
    """A temperature in degrees Celsius as decimal text, 5 to 40; "" for None. The option may have a
    decimal comma. Raises UsageError.
    """
    if text is None:
        return ""
    found = _DEGREES.fullmatch(text.strip().replace(",", "."))
    if found is None:
        raise UsageError(
            f"{text[:40]!r} is not a temperature in degrees Celsius, like 21.5", option
        )
    if not Decimal(5) <= Decimal(found[1]) <= Decimal(40):
        raise UsageError(
            f"{found[1]} degrees Celsius is outside 5 to 40. Is the decimal point right?", option
        )
    return found[1]
