"""A frame's text to the fields in it: tokens from left to right, no way back, all text used up."""

import re
from collections.abc import Callable
from typing import TypeAlias

import msgspec

from drivers.dialects.numbers import Written, fixed_pattern, matcher
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

_SWAP = {".": ",", ",": "."}
_CLASSES = {"digit": "[0-9]", "alpha": "[A-Za-z]", "alnum": "[0-9A-Za-z]"}
_OPTIONAL_SIGN = {"none": "", "optional": "[+-]?", "required": "[+-]"}


class Miss(Exception):
    """The text does not fit: the error `code`, the position and what was expected there."""

    def __init__(self, code: str, pos: int, expected: str) -> None:
        self.code = code
        self.pos = pos
        self.expected = expected
        super().__init__(expected)


_NO_NUMBER = Written(False, "0")


class Fields(msgspec.Struct, gc=False):
    """What one frame said; filled by the tokens as they match."""

    number: Written = _NO_NUMBER
    sign: str | None = None
    exponent: int = 0
    unit: str | None = None
    channel: str | None = None
    flags: list[str] = []
    no_reading: str | None = None

    def flag(self, name: str) -> None:
        """Note a status: "" nothing, "!x" no reading because of x (the first counts), else x."""
        if name.startswith("!"):
            self.no_reading = self.no_reading or name[1:]
        elif name:
            self.flags.append(name)


LayoutStep: TypeAlias = Callable[[str, int, Fields], int]
"""Match at a position, fill the fields, give the position behind; raises Miss."""


class Layout:
    """The tokens of one profile, compiled once."""

    def __init__(self, tokens: tuple[Token, ...]) -> None:
        self._steps = tuple(_compile(token, False) for token in tokens)
        self._swapped = tuple(_compile(token, True) for token in tokens)
        self._whole = _whole(tokens)
        self._sep = next((t.sep for t in tokens if isinstance(t, Number) and t.sep), ".")

    def read(self, text: str) -> Fields:
        """The fields of `text`; raises Miss with the code of the first token that fails.

        `syntax` and `unit` become `separator` where the whole text fits once point and comma
        change places in the number: a wrong separator is the commonest cause and is named.
        """
        fields = self._whole(text) if self._whole is not None else None
        if fields is not None:
            return fields
        try:
            return _run(self._steps, text)
        except Miss as miss:
            if miss.code in ("syntax", "unit") and self._fits_swapped(text):
                declared = f"{self._sep!r} as decimal separator, not {_SWAP[self._sep]!r}"
                raise Miss("separator", miss.pos, declared) from None
            raise

    def _fits_swapped(self, text: str) -> bool:
        try:
            _run(self._swapped, text)
        except Miss:
            return False
        return True


def _run(steps: tuple[LayoutStep, ...], text: str) -> Fields:
    fields = Fields()
    pos = 0
    for step in steps:
        pos = step(text, pos, fields)
    if pos != len(text):
        raise Miss("syntax", pos, "the end")
    return fields


def _whole(tokens: tuple[Token, ...]) -> Callable[[str], Fields | None] | None:
    """The commonest layouts, a plain decimal and its unit, as one pattern; None for all others.

    Only quicker: what it matches the tokens would match alike (its groups give nothing back,
    either), and what it does not match is left to them, who know what to say.
    """
    pattern, units = "", dict[str, str]()
    for token in tokens:
        match token:
            case Lit(optional=False):
                pattern += re.escape(token.lit)
            case Spaces():
                least, most = _bounds(token.sp)
                pattern += f" {{{least},{most}}}+"
            case Number(form="fixed", gap=False, width=None, decimals=None):
                pattern += f"(?>{fixed_pattern(token)})"
            case Unit(optional=False):
                units = token.map
                keys = (re.escape(key) for key, _ in _longest_first(units))
                pattern += f"((?>{'|'.join(keys)}))"
            case _:
                return None
    if [type(token) for token in tokens if isinstance(token, Number | Unit)] != [Number, Unit]:
        return None
    match_all = re.compile(pattern, re.ASCII).fullmatch

    def read(text: str) -> Fields | None:
        found = match_all(text)
        if found is None:
            return None
        sign, whole, part, unit = found.groups()
        return Fields(Written(sign == "-", whole + part, -len(part)), unit=units[unit])

    return read


def _compile(token: Token, swap: bool) -> LayoutStep:
    match token:
        case Lit():
            return _lit(token)
        case Spaces():
            return _spaces(token)
        case Channel():
            return _channel(token)
        case Sign():
            return _sign(token)
        case Number():
            return _number(token, swap)
        case Exponent():
            return _exponent(token)
        case Unit():
            return _unit(token)
        case Flag():
            return _flag(token)
        case Bits():
            return _bits(token)


def _bounds(width: int | tuple[int, int]) -> tuple[int, int]:
    return width if isinstance(width, tuple) else (width, width)


def _lit(token: Lit) -> LayoutStep:
    lit, size, optional = token.lit, len(token.lit), token.optional

    def step(text: str, pos: int, fields: Fields) -> int:
        if text.startswith(lit, pos):
            return pos + size
        if optional:
            return pos
        raise Miss("syntax", pos, f"the text {lit!r}")

    return step


def _spaces(token: Spaces) -> LayoutStep:
    least, most = _bounds(token.sp)

    def step(text: str, pos: int, fields: Fields) -> int:
        end = pos
        while end < len(text) and end - pos < most and text[end] == " ":
            end += 1
        if end - pos < least:
            raise Miss("syntax", end, f"at least {least} space(s)")
        return end

    return step


def _channel(token: Channel) -> LayoutStep:
    least, most = _bounds(token.width)
    match = re.compile(f"{_CLASSES[token.chars]}{{{least},{most}}}").match
    allowed = token.allowed

    def step(text: str, pos: int, fields: Fields) -> int:
        found = match(text, pos)
        if found is None:
            raise Miss("syntax", pos, f"a channel of {least} to {most} characters ({token.chars})")
        name = found.group()
        if allowed is not None and name not in allowed:
            raise Miss("channel", pos, f"one of the channels {', '.join(allowed)}")
        fields.channel = name
        return found.end()

    return step


def _longest_first(keys: dict[str, str]) -> tuple[tuple[str, str], ...]:
    return tuple(sorted(keys.items(), key=lambda item: len(item[0]), reverse=True))


def _lookup(entries: tuple[tuple[str, str], ...], text: str, pos: int) -> tuple[str, int] | None:
    for key, value in entries:
        if text.startswith(key, pos):
            return value, pos + len(key)
    return None


def _words(entries: tuple[tuple[str, str], ...]) -> str:
    return ", ".join(repr(key) for key, _ in entries)


def _sign(token: Sign) -> LayoutStep:
    entries = _longest_first(dict(token.map))

    def step(text: str, pos: int, fields: Fields) -> int:
        hit = _lookup(entries, text, pos)
        if hit is not None:
            fields.sign = hit[0]
            return hit[1]
        if token.optional:
            return pos
        raise Miss("syntax", pos, f"a sign, one of {_words(entries)}")

    return step


_LIKE = {
    "int": "12345",
    "fixed": "12.345",
    "exp": "1.2345E+1",
    "nrf": "12.345",
    "dms": "12 and its minutes and seconds",
    "fraction": "1 3/64",
}


def _number(token: Number, swap: bool) -> LayoutStep:
    sep = token.sep or "."
    find = matcher(token, _SWAP.get(sep, sep) if swap else sep)
    exact = token.decimals if token.form in ("fixed", "exp") else None

    def step(text: str, pos: int, fields: Fields) -> int:
        hit = find(text, pos)
        if hit is None:
            raise Miss("syntax", pos, f"a number like {_LIKE[token.form]}")
        number, end = hit
        if exact is not None:
            sent = _decimals_sent(text[pos:end], sep if not swap else _SWAP.get(sep, sep))
            if sent != exact:
                raise Miss("decimals", pos, f"{exact} decimals, not {sent}")
        fields.number = number
        return end

    return step


def _decimals_sent(written: str, sep: str) -> int:
    part = written.partition(sep)[2]
    return len(re.split("[eE]", part)[0])


def _exponent(token: Exponent) -> LayoutStep:
    match = re.compile(f"{_OPTIONAL_SIGN[token.sign]}[0-9]+").match

    def step(text: str, pos: int, fields: Fields) -> int:
        found = match(text, pos)
        if found is None:
            raise Miss("syntax", pos, "a power of ten")
        fields.exponent = int(found.group())
        return found.end()

    return step


def _unit(token: Unit) -> LayoutStep:
    entries = _longest_first(token.map)

    def step(text: str, pos: int, fields: Fields) -> int:
        hit = _lookup(entries, text, pos)
        if hit is not None:
            fields.unit = hit[0]
            return hit[1]
        if token.optional:
            return pos
        raise Miss("unit", pos, f"a unit, one of {_words(entries)}")

    return step


def _flag(token: Flag) -> LayoutStep:
    entries = _longest_first(token.map)

    def step(text: str, pos: int, fields: Fields) -> int:
        hit = _lookup(entries, text, pos)
        if hit is not None:
            fields.flag(hit[0])
            return hit[1]
        if token.optional:
            return pos
        raise Miss("syntax", pos, f"a status, one of {_words(entries)}")

    return step


def _bits(token: Bits) -> LayoutStep:
    match = re.compile(f"[0-9A-Fa-f]{{{token.width}}}").match
    names = [token.bits.get(str(bit), f"bit-{bit}") for bit in range(4 * token.width)]

    def step(text: str, pos: int, fields: Fields) -> int:
        found = match(text, pos)
        if found is None:
            raise Miss("syntax", pos, f"{token.width} hex digits of status")
        word = int(found.group(), 16)
        for bit, name in enumerate(names):
            if word >> bit & 1:
                fields.flag(name)
        return found.end()

    return step
