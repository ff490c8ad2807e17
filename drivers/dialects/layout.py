"""A frame's text to the fields in it: tokens from left to right, no way back, all text used up.

All tokens of a layout make one pattern. Each one's part gives nothing back once it has matched, so
the whole reads a text as the tokens would one by one. Only of a text that does not fit the tokens
are gone through one by one, to say why.
"""

import re
from collections.abc import Callable
from functools import cached_property
from typing import Protocol, TypeAlias

import msgspec
from msgspec.structs import replace

from drivers.dialects.fields import Fields
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

Fill: TypeAlias = Callable[[Fields, str], None]
"""What a token's text says, noted in the fields."""


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
        self._fills: list[tuple[Fill, int]] = []
        for nth, token in enumerate(tokens):
            at, fill = places.get(_name(nth), 0), _fill(token)
            if isinstance(token, Unit):
                self._unit_at, self._units = at, {"": None, **token.map}
            elif fill is not None:
                self._fills.append((fill, at))

    def read(self, text: str) -> Fields | None:
        """The fields of `text`; None: it does not fit, and `miss` says why."""
        found = self._match(text)
        if found is None:
            return None
        groups = found.groups()
        fields = self._number(groups)
        if fields is None:
            return None
        if self._units is not None:
            fields.unit = self._units[groups[self._unit_at]]
        for fill, at in self._fills:
            fill(fields, groups[at])
        if self._allowed is not None and fields.channel not in self._allowed:
            return None
        return fields

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

    def read_exact(groups: Groups) -> Fields | None:
        number = read(groups)
        return number if number is not None and number.decimals == exact else None

    return read_exact


def _fill(token: Token) -> Fill | None:
    """What the token says; None: nothing, or it is read by itself."""
    match token:
        case Sign():
            return _fill_sign(token)
        case Exponent():
            return _fill_exponent
        case Channel():
            return _fill_channel
        case Flag():
            return _fill_flag(token)
        case Bits():
            return _fill_bits(token)
        case Lit() | Spaces() | Number() | Unit():
            return None


def _fill_sign(token: Sign) -> Fill:
    signs = {"": "+", **token.map}

    def fill(fields: Fields, sent: str) -> None:
        if signs[sent] == "-" and fields.text:  # the number itself has no sign
            fields.text = f"-{fields.text}"

    return fill


def _fill_exponent(fields: Fields, sent: str) -> None:
    power = int(sent)
    if abs(power) > MOST_EXPONENT:
        fields.text, fields.in_range = "", False
    else:
        fields.exponent10 += power


def _fill_channel(fields: Fields, sent: str) -> None:
    fields.channel = sent


def _fill_flag(token: Flag) -> Fill:
    names = {"": "", **token.map}

    def fill(fields: Fields, sent: str) -> None:
        fields.flag(names[sent])

    return fill


def _fill_bits(token: Bits) -> Fill:
    names = [token.bits.get(str(bit), f"bit-{bit}") for bit in range(4 * token.width)]

    def fill(fields: Fields, sent: str) -> None:
        word = int(sent, 16)
        for bit, name in enumerate(names):
            if word >> bit & 1:
                fields.flag(name)

    return fill
