"""A BCD profile's layout entries to nibble tokens, checked for what goes together."""

from typing import Any, Literal

import msgspec

from drivers.profile.bcd_spec import (
    NIBBLES,
    Bcd,
    BcdChannel,
    BcdSign,
    BcdStatus,
    BcdUnit,
    Decimals,
    Digits,
    Nibbles,
    XorCheck,
)
from drivers.profile.frame_spec import FrameSpec
from drivers.profile.texts import ascii_bytes, check_status_names
from drivers.toml_file import WrongKey, converted, need

MOST_DIGITS = 40
MOST_STATUS = 16
_HEX_DIGITS = frozenset("0123456789abcdefABCDEF")


class BcdKeys(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The `[bcd]` table as written."""

    order: Literal["high-first", "low-first"]


def bcd_of(keys: BcdKeys, entries: list[dict[str, Any]], frame: FrameSpec) -> Bcd:
    """The checked record; raises WrongKey."""
    tokens = tuple(_token(entry, f"layout[{n}]") for n, entry in enumerate(entries, 1))
    _check_tokens(tokens)
    if frame.length is None:
        raise WrongKey("frame.length", "kind bcd needs the number of bytes that are sent each time")
    given = 2 * (frame.length - len(frame.start))
    named = sum(token.nibbles for token in tokens)
    need(
        named == given,
        "layout",
        (
            f"names {named} nibbles; frame.length leaves {given} behind the start mark. "
            "Name those without a meaning as a status without bits"
        ),
    )
    return Bcd(keys.order, tokens)


def _token(entry: dict[str, Any], where: str) -> Nibbles:
    for key in ("lit", "sp"):
        need(key not in entry, f"{where}.{key}", 'stands in layouts of kind "text" only')
    need("name" in entry, f"{where}.name", "this key is required")
    name = entry["name"]
    kind = NIBBLES.get(name) if isinstance(name, str) else None
    if kind is None:
        known = ", ".join(NIBBLES)
        raise WrongKey(f"{where}.name", f"unknown in a layout of kind bcd; known are {known}")
    token = converted(entry, kind, where)
    _one_token(token, where)
    return token


def _one_token(token: Nibbles, where: str) -> None:
    match token:
        case Digits():
            need(1 <= token.nibbles <= MOST_DIGITS, f"{where}.nibbles", f"1 to {MOST_DIGITS}")
            fits = 0 <= token.decimals <= token.nibbles
            need(fits, f"{where}.decimals", f"0 to {token.nibbles}, the number of digits")
        case BcdStatus():
            need(1 <= token.nibbles <= MOST_STATUS, f"{where}.nibbles", f"1 to {MOST_STATUS}")
            known = [str(bit) for bit in range(4 * token.nibbles)]
            for bit in token.bits:
                need(bit in known, f"{where}.bits", f"bit {bit!r} is not 0 to {known[-1]}")
            check_status_names(token.bits, f"{where}.bits")
        case _:
            need(token.nibbles == 1, f"{where}.nibbles", f"a {token.name} is one nibble")
    if isinstance(token, BcdSign | BcdUnit):
        _hex_keys(token.map, f"{where}.map")
    if isinstance(token, BcdUnit):
        for unit in token.map.values():
            ascii_bytes(unit, f"{where}.map")


def _hex_keys(entries: dict[str, Any], key: str) -> None:
    need(bool(entries), key, "empty")
    for digit in entries:
        fits = len(digit) == 1 and digit in _HEX_DIGITS
        need(fits, key, f"{digit!r} is not one hex digit")
    need(len({digit.lower() for digit in entries}) == len(entries), key, "the same digit twice")


def _check_tokens(tokens: tuple[Nibbles, ...]) -> None:
    for kind in (Digits, Decimals, BcdSign, BcdUnit, BcdChannel, XorCheck):
        found = sum(isinstance(token, kind) for token in tokens)
        name = next(name for name, known in NIBBLES.items() if known is kind)
        need(found <= 1, "layout", f"more than one {name}")
        need(found == 1 or kind is not Digits, "layout", 'no token with name = "digits"')
    names = [token.name for token in tokens]
    number = names.index("digits")
    digits = tokens[number]
    assert isinstance(digits, Digits)
    need(
        not digits.decimals or "decimals" not in names,
        f"layout[{number + 1}].decimals",
        "the layout says them too, by its decimals token. Leave one of the two out",
    )
    if "check" in names:
        place = names.index("check")
        need(
            place > number, f"layout[{place + 1}]", "a check before the digits does not cover them"
        )
