"""Why a text does not fit a layout: its tokens one by one, up to the first that fails.

The layout's pattern has told already that the text does not fit, so nothing is read here.
"""

import re
from collections.abc import Iterable

from drivers.dialects.numbers import OPTIONAL_SIGN, bounds, exact_decimals, matcher
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

CLASSES = {"digit": "[0-9]", "alpha": "[A-Za-z]", "alnum": "[0-9A-Za-z]"}


class Miss(Exception):
    """The text does not fit: the error `code`, the position and what was expected there."""

    def __init__(self, code: str, pos: int, expected: str) -> None:
        self.code = code
        self.pos = pos
        self.expected = expected
        super().__init__(expected)


def first_miss(tokens: tuple[Token, ...], text: str) -> Miss:
    """The fault of a text that does not fit: if every token does, that it goes on behind them."""
    pos = 0
    try:
        for token in tokens:
            pos = _behind(token, text, pos)
    except Miss as miss:
        return miss
    return Miss("syntax", pos, "the end")


def longest_first(keys: Iterable[str]) -> list[str]:
    """The texts of a map, so that the first that fits is the longest that fits."""
    return sorted(keys, key=len, reverse=True)


def _behind(token: Token, text: str, pos: int) -> int:
    """The position behind a token that stands at `pos`; raises Miss."""
    match token:
        case Lit():
            return _behind_lit(token, text, pos)
        case Spaces():
            return _behind_spaces(token, text, pos)
        case Channel():
            return _behind_channel(token, text, pos)
        case Number():
            return _behind_number(token, text, pos)
        case Exponent():
            return _behind_match(f"{OPTIONAL_SIGN[token.sign]}[0-9]+", "a power of ten", text, pos)
        case Bits():
            digits = f"{token.width} hex digits of status"
            return _behind_match(f"[0-9A-Fa-f]{{{token.width}}}", digits, text, pos)
        case Sign() | Unit() | Flag():
            return _behind_word(token, text, pos)


def _behind_lit(token: Lit, text: str, pos: int) -> int:
    if text.startswith(token.lit, pos):
        return pos + len(token.lit)
    if token.optional:
        return pos
    raise Miss("syntax", pos, f"the text {token.lit!r}")


def _behind_spaces(token: Spaces, text: str, pos: int) -> int:
    least, most = bounds(token.sp)
    end = pos
    while end < len(text) and end - pos < most and text[end] == " ":
        end += 1
    if end - pos < least:
        raise Miss("syntax", end, f"at least {least} space(s)")
    return end


def _behind_channel(token: Channel, text: str, pos: int) -> int:
    least, most = bounds(token.width)
    name = f"a channel of {least} to {most} characters ({token.chars})"
    end = _behind_match(f"{CLASSES[token.chars]}{{{least},{most}}}", name, text, pos)
    if token.allowed is not None and text[pos:end] not in token.allowed:
        raise Miss("channel", pos, f"one of the channels {', '.join(token.allowed)}")
    return end


def _behind_match(pattern: str, expected: str, text: str, pos: int) -> int:
    found = re.compile(pattern).match(text, pos)
    if found is None:
        raise Miss("syntax", pos, expected)
    return found.end()


_LIKE = {
    "int": "12345",
    "fixed": "12.345",
    "exp": "1.2345E+1",
    "nrf": "12.345",
    "dms": "12 and its minutes and seconds",
    "fraction": "1 3/64",
}


def _behind_number(token: Number, text: str, pos: int) -> int:
    hit = matcher(token)(text, pos)
    if hit is None:
        raise Miss("syntax", pos, f"a number like {_LIKE[token.form]}")
    (_, _, sent, _, _), end = hit
    exact = exact_decimals(token)
    if exact is not None and sent != exact:
        raise Miss("decimals", pos, f"{exact} decimals, not {sent}")
    return end


def _behind_word(token: Sign | Unit | Flag, text: str, pos: int) -> int:
    words = longest_first(token.map)
    for word in words:
        if text.startswith(word, pos):
            return pos + len(word)
    if token.optional:
        return pos
    known = ", ".join(map(repr, words))
    if isinstance(token, Unit):
        raise Miss("unit", pos, f"a unit, one of {known}")
    raise Miss(
        "syntax", pos, f"a {'sign' if isinstance(token, Sign) else 'status'}, one of {known}"
    )
