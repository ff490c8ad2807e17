"""A profile's layout entries to tokens, checked for what each may say and what goes together."""

from typing import Any

from drivers.profile.frame_spec import MOST_FRAME_BYTES
from drivers.profile.layout_spec import (
    NAMED,
    Bits,
    Channel,
    Flag,
    Lit,
    Number,
    Sign,
    Spaces,
    Token,
    Unit,
)
from drivers.profile.texts import ascii_bytes, check_status_names
from drivers.toml_file import WrongKey, converted, need


def token_of(entry: dict[str, Any], number: int) -> Token:
    """The checked token of the layout's entry `number`, counted from 1; raises WrongKey."""
    where = f"layout[{number}]"
    selectors = [key for key in ("lit", "sp", "name") if key in entry]
    need(len(selectors) == 1, where, "exactly one of lit, sp or name says what stands here")
    if selectors == ["lit"]:
        lit = converted(entry, Lit, where)
        ascii_bytes(lit.lit, f"{where}.lit")
        need(bool(lit.lit), f"{where}.lit", "empty text")
        return lit
    if selectors == ["sp"]:
        spaces = converted(entry, Spaces, where)
        _width(spaces.sp, f"{where}.sp", 0)
        return spaces
    kind = NAMED.get(entry["name"]) if isinstance(entry["name"], str) else None
    if kind is None:
        raise WrongKey(
            f"{where}.name", f"unknown in a layout of kind text; known are {', '.join(NAMED)}"
        )
    token = converted(entry, kind, where)
    _one_token(token, where)
    return token


def _one_token(token: Token, where: str) -> None:
    match token:
        case Channel():
            _width(token.width, f"{where}.width", 1)
            for name in token.allowed or ():
                ascii_bytes(name, f"{where}.allowed")
        case Sign():
            _keys(token.map, where)
        case Number():
            _number_token(token, where)
        case Unit():
            _keys(token.map, where)
            for unit in token.map.values():
                ascii_bytes(unit, f"{where}.map")
        case Flag():
            _keys(token.map, where)
            check_status_names(token.map, f"{where}.map")
        case Bits():
            need(1 <= token.width <= 8, f"{where}.width", "1 to 8 hex digits")
            for bit in token.bits:
                known = [str(n) for n in range(4 * token.width)]
                need(bit in known, f"{where}.bits", f"bit {bit!r} is not 0 to {known[-1]}")
            check_status_names(token.bits, f"{where}.bits")


def _keys(entries: dict[str, Any], where: str) -> None:
    need(bool(entries), f"{where}.map", "empty")
    for key in entries:
        ascii_bytes(key, f"{where}.map")


def _width(width: int | tuple[int, int], key: str, least: int) -> None:
    low, high = width if isinstance(width, tuple) else (width, width)
    need(least <= low <= high <= MOST_FRAME_BYTES and high > 0, key, "not a width")


def _number_token(token: Number, where: str) -> None:
    if token.width is not None:
        _width(token.width, f"{where}.width", 1)
    need(not token.gap or token.sign != "none", f"{where}.gap", "a gap needs a sign before it")
    if token.form in ("fixed", "exp", "nrf"):
        need(token.sep in (None, ".", ","), f"{where}.sep", "'.' or ','")
    elif token.form == "dms":
        sep = token.sep or ""
        fits = len(sep) == 1 and sep.isascii() and sep.isprintable() and not sep.isdigit()
        need(fits, f"{where}.sep", "form dms needs the one character between its numbers")
    else:
        need(token.sep is None, f"{where}.sep", f"form {token.form} has no separator")
    if token.decimals is not None:
        fits = token.form in ("int", "fixed", "exp")
        need(fits, f"{where}.decimals", f"form {token.form} has none")
        need(0 <= token.decimals <= 40, f"{where}.decimals", "0 to 40")


def check_layout(layout: tuple[Token, ...]) -> None:
    """Raises WrongKey where the tokens do not go together."""
    for kind in (Number, Sign, Unit, Channel):
        found = sum(isinstance(token, kind) for token in layout)
        name = kind.__name__.lower()
        need(found <= 1, "layout", f"more than one {name}")
        need(found == 1 or kind is not Number, "layout", 'no token with name = "number"')
    exponents = sum(isinstance(token, NAMED["exponent"]) for token in layout)
    need(exponents <= 1, "layout", "more than one exponent")
    number = next(token for token in layout if isinstance(token, Number))
    need(
        not exponents or number.form in ("int", "fixed"),
        "layout",
        f"an exponent does not go with form {number.form}",
    )
    need(
        number.sign == "none" or not any(isinstance(token, Sign) for token in layout),
        "layout",
        "a sign token and a number with its own sign",
    )
