"""A frame's text to the fields in it: tokens from left to right, no way back, all text used up.

All tokens of a layout make one pattern. Each one's part gives nothing back once it has matched, so
the whole reads a text as the tokens would one by one. Only of a text that does not fit the tokens
are gone through one by one, to say why.
"""

import re
from collections.abc import Callable, Iterable
from functools import cached_property
from typing import Protocol, TypeAlias

import msgspec
from msgspec.structs import replace

from drivers.dialects.fields import TOO_LARGE, Extras, Fields, Written
from drivers.dialects.layout_faults import CLASSES, Miss, first_miss, longest_first
from drivers.dialects.numbers import (
    MOST_EXPONENT,
    OPTIONAL_SIGN,
    Groups,
    Reader,
    bounds,
    exact_decimals,
    number_pattern,
    number_reader,
    token_bounds,
)
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

Note: TypeAlias = Callable[[Extras, str], None]
"""Notes what a token's text says."""

NOTHING_MORE = Extras()
"""Of a layout that has only number and unit; never written to."""


class Grouped(Protocol):
    """What a text says, group by group."""

    def groups(self) -> Groups:
        """The groups of the whole pattern."""
        ...


class Layout:
    """The tokens of one profile, compiled once."""

    def __init__(self, tokens: tuple[Token, ...]) -> None:
        self._tokens = tokens
        self._match, places = _compiled(tokens)
        number = next(token for token in tokens if isinstance(token, Number))
        self._sep = number.sep or "."
        self._number = _number(number, places["number"])
        self._allowed = next((t.allowed for t in tokens if isinstance(t, Channel)), None)
        self._units: dict[str, str | None] | None = None
        self._unit_at = 0
        self._notes: list[tuple[Note, int]] = []
        for nth, token in enumerate(tokens):
            at = places.get(_name(nth), 0)
            match token:
                case Unit():
                    self._unit_at, self._units = at, {"": None, **token.map}
                case Sign():
                    self._number = _signed(self._number, at, {"": "+", **token.map})
                case Exponent():
                    self._number = _multiplied(self._number, at)
                case Channel():
                    self._notes.append((_note_channel, at))
                case Flag():
                    self._notes.append((_note_flag(token), at))
                case Bits():
                    self._notes.append((_note_bits(token), at))
                case Lit() | Spaces() | Number():
                    pass

    def read(self, text: str) -> Fields | None:
        """The fields of `text`; None: it does not fit, and `miss` says why."""
        found = self._match(text)
        if found is None:
            return None
        groups = found.groups()
        number = self._number(groups)
        if number is None:
            return None
        unit = self._units[groups[self._unit_at]] if self._units else None
        if not self._notes:
            return number, unit, NOTHING_MORE
        said = Extras()
        for note, at in self._notes:
            note(said, groups[at])
        if self._allowed is not None and said.channel not in self._allowed:
            return None
        return number, unit, said

    @property
    def is_printable(self) -> bool:
        """No text that fits has a character that cannot be printed."""
        return all(each.isprintable() for token in self._tokens for each in _texts(token))

    def miss(self, text: str) -> Miss:
        """Why `text` does not fit, with the code of the first token that fails.

        `syntax` and `unit` become `separator` where the whole text fits once point and comma
        change places in the number: a wrong separator is the commonest cause and is named.
        """
        miss = first_miss(self._tokens, text)
        if miss.code in ("syntax", "unit") and self._swapped.read(text) is not None:
            declared = f"{self._sep!r} as decimal separator, not {_SWAP[self._sep]!r}"
            return Miss("separator", miss.pos, declared)
        return miss

    @cached_property
    def _swapped(self) -> "Layout":
        """The same tokens with point and comma changed over in the number."""
        return Layout(tuple(map(_swapped, self._tokens)))


def _swapped(token: Token) -> Token:
    if not isinstance(token, Number):
        return token
    sep = token.sep or "."
    return replace(token, sep=_SWAP.get(sep, sep))


def _texts(token: Token) -> Iterable[str]:
    """What stands in the profile to be found as it is."""
    match token:
        case Lit():
            return (token.lit,)
        case Sign() | Unit() | Flag():
            return token.map
        case _:
            return ()


def _name(place: int) -> str:
    """The name of the group of a layout's token."""
    return f"token{place}"


# --- tokens to patterns ---


class _Stretch(msgspec.Struct):
    """Tokens that are matched at once: `least` to `most` characters; any number if both are 0."""

    pattern: str = ""
    least: int = 0
    most: int = 0


def _compiled(
    tokens: tuple[Token, ...],
) -> tuple[Callable[[str], Grouped | None], dict[str, int]]:
    """The matcher of a whole text, and where its named groups are."""
    stretches = [_Stretch()]
    for place, token in enumerate(tokens):
        if isinstance(token, Number) and token_bounds(token) != (0, 0):
            # No pattern can say how long a number is as a whole, so it is matched by itself.
            stretches += [_Stretch(number_pattern(token), *token_bounds(token)), _Stretch()]
        else:
            stretches[-1].pattern += _pattern(token, _name(place))
    parts = [re.compile(stretch.pattern, re.ASCII) for stretch in stretches]
    places: dict[str, int] = {}
    before = 0
    for part in parts:
        places |= {name: before + number - 1 for name, number in part.groupindex.items()}
        before += part.groups
    return (parts[0].fullmatch if len(parts) == 1 else _in_turn(parts, stretches)), places


class _Joined(msgspec.Struct, frozen=True, gc=False):
    """The groups of stretches that were matched one behind the other."""

    joined: Groups

    def groups(self) -> Groups:
        return self.joined


def _in_turn(
    patterns: list[re.Pattern[str]], stretches: list[_Stretch]
) -> Callable[[str], Grouped | None]:
    turns = [
        (pattern.match, stretch.least, stretch.most)
        for pattern, stretch in zip(patterns, stretches, strict=True)
    ]

    def match_all(text: str) -> Grouped | None:
        joined: Groups = ()
        pos = 0
        for match, least, most in turns:
            found = match(text, pos, pos + most) if most else match(text, pos)
            if found is None or found.end() - pos < least:
                return None
            joined += found.groups()
            pos = found.end()
        return _Joined(joined) if pos == len(text) else None

    return match_all


def _pattern(token: Token, name: str) -> str:
    match token:
        case Lit():
            return f"(?>{re.escape(token.lit)}|)" if token.optional else re.escape(token.lit)
        case Spaces():
            return f" {_count(token.sp)}"
        case Channel():
            return f"(?P<{name}>{CLASSES[token.chars]}{_count(token.width)})"
        case Number():
            return number_pattern(token)
        case Exponent():
            return f"(?P<{name}>{OPTIONAL_SIGN[token.sign]}[0-9]++)"
        case Bits():
            return f"(?P<{name}>[0-9A-Fa-f]{{{token.width}}})"
        case Sign() | Unit() | Flag():
            keys = longest_first([*token.map, *([""] if token.optional else [])])
            return f"(?P<{name}>(?>{'|'.join(map(re.escape, keys))}))"


def _count(width: int | tuple[int, int]) -> str:
    least, most = bounds(width)
    return f"{{{least},{most}}}+"


# --- groups to fields ---


def _number(token: Number, at: int) -> Reader:
    read, exact = number_reader(token, at), exact_decimals(token)
    if exact is None:
        return read

    def read_exact(groups: Groups) -> Written | None:
        number = read(groups)
        return number if number is not None and number[2] == exact else None

    return read_exact


def _signed(read: Reader, at: int, signs: dict[str, str]) -> Reader:
    """With a sign that stands apart at place `at`; the number itself has none then."""

    def read_signed(groups: Groups) -> Written | None:
        number = read(groups)
        if number is None or number[0] == "" or signs[groups[at]] == "+":
            return number
        text, exponent10, decimals, step, in_range = number
        return f"-{text}", exponent10, decimals, step, in_range

    return read_signed


def _multiplied(read: Reader, at: int) -> Reader:
    """With a power of ten that stands apart at place `at`."""

    def read_multiplied(groups: Groups) -> Written | None:
        number, power = read(groups), int(groups[at])
        if number is None or number[0] == "":
            return number
        if abs(power) > MOST_EXPONENT:
            return TOO_LARGE
        text, exponent10, decimals, step, in_range = number
        return text, exponent10 + power, decimals, step, in_range

    return read_multiplied


def _note_channel(said: Extras, sent: str) -> None:
    said.channel = sent


def _note_flag(token: Flag) -> Note:
    names = {"": "", **token.map}

    def note(said: Extras, sent: str) -> None:
        said.flag(names[sent])

    return note


def _note_bits(token: Bits) -> Note:
    names = [token.bits.get(str(bit), f"bit-{bit}") for bit in range(4 * token.width)]

    def note(said: Extras, sent: str) -> None:
        word = int(sent, 16)
        for bit, name in enumerate(names):
            if word >> bit & 1:
                said.flag(name)

    return note
