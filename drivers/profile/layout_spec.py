"""The tokens of a text layout as a profile declares them: fields and what each may say.

Only shapes live here; `layout_checks` checks that they fit together, and the dialect compiles them.
"""

from typing import Literal, TypeAlias

import msgspec

Width: TypeAlias = int | tuple[int, int]


class Lit(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Literal text."""

    lit: str
    optional: bool = False


class Spaces(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Between `sp[0]` and `sp[1]` spaces, or exactly `sp`."""

    sp: Width


class Channel(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Which input of a multi-channel box, kept as text."""

    name: Literal["channel"]
    chars: Literal["digit", "alpha", "alnum"]
    width: Width
    allowed: tuple[str, ...] | None = None


class Sign(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A sign written apart from the number, before or after it."""

    name: Literal["sign"]
    map: dict[str, Literal["+", "-"]]
    optional: bool = False


class Number(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The size itself."""

    name: Literal["number"]
    form: Literal["int", "fixed", "exp", "nrf", "dms", "fraction"]
    sign: Literal["none", "optional", "required"] = "none"
    gap: bool = False
    sep: str | None = None
    width: Width | None = None
    decimals: int | None = None


class Exponent(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A power of ten for the number, written apart from it."""

    name: Literal["exponent"]
    sign: Literal["none", "optional", "required"] = "none"


class Unit(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The unit; the longest key that fits wins."""

    name: Literal["unit"]
    map: dict[str, str]
    optional: bool = False


class Flag(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A status word; "" says nothing, "!x" says that there is no reading because of x."""

    name: Literal["flag"]
    map: dict[str, str]
    optional: bool = False


class Bits(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A status word in hex digits; keys are bit numbers, 0 the lowest."""

    name: Literal["bits"]
    width: int
    bits: dict[str, str]


Token: TypeAlias = Lit | Spaces | Channel | Sign | Number | Exponent | Unit | Flag | Bits

NAMED: dict[str, type[Token]] = {
    "channel": Channel,
    "sign": Sign,
    "number": Number,
    "exponent": Exponent,
    "unit": Unit,
    "flag": Flag,
    "bits": Bits,
}
"""Tokens that a layout entry selects by its `name`."""
