"""The nibbles of a BCD layout as a profile declares them: fields and what each may say."""

from typing import Literal, TypeAlias

import msgspec


class BcdStatus(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Status bits; keys are bit numbers, 0 the lowest, of the nibbles read as one number."""

    name: Literal["status"]
    bits: dict[str, str]
    nibbles: int = 1


class BcdChannel(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Which input of a multi-channel box: the nibble as decimal text, 0 to 15."""

    name: Literal["channel"]
    nibbles: int = 1


class Decimals(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """How many of the digits stand behind the decimal point."""

    name: Literal["decimals"]
    nibbles: int = 1


class Digits(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The size: one digit a nibble, most or least significant first; `decimals` where the frame
    does not send them.
    """

    name: Literal["digits"]
    nibbles: int
    first: Literal["msd", "lsd"] = "msd"
    decimals: int = 0


class BcdSign(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The sign by hex digit."""

    name: Literal["sign"]
    map: dict[str, Literal["+", "-"]]
    nibbles: int = 1


class BcdUnit(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The unit by hex digit."""

    name: Literal["unit"]
    map: dict[str, str]
    nibbles: int = 1


class XorCheck(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The XOR of all nibbles before it, the start mark's not among them."""

    name: Literal["check"]
    kind: Literal["xor"]
    nibbles: int = 1


Nibbles: TypeAlias = BcdStatus | BcdChannel | Decimals | Digits | BcdSign | BcdUnit | XorCheck

NIBBLES: dict[str, type[Nibbles]] = {
    "status": BcdStatus,
    "channel": BcdChannel,
    "decimals": Decimals,
    "digits": Digits,
    "sign": BcdSign,
    "unit": BcdUnit,
    "check": XorCheck,
}
"""Tokens that a layout entry of kind bcd selects by its `name`."""


class Bcd(msgspec.Struct, frozen=True):
    """A BCD layout, checked: which nibble of a byte comes first, and what they mean in order."""

    order: Literal["high-first", "low-first"]
    tokens: tuple[Nibbles, ...]
