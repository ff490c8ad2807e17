"""A gauge's dialect as a frozen, checked record; `file` makes it of a TOML text."""

from decimal import Decimal
from pathlib import Path
from typing import Literal

import msgspec

from drivers.profile import bcd_spec
from drivers.profile.bcd_spec import Bcd
from drivers.profile.frame_spec import FrameSpec
from drivers.profile.layout_spec import Bits, Channel, Flag, Token, Unit
from drivers.profile.modbus_spec import Modbus

SHIPPED = Path(__file__).parent / "shipped"
"""The folder of pattern profiles that come with the program."""


class Link(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """How to open the port; the user may override it."""

    transport: Literal["serial", "usb-hid-keyboard", "tcp", "rfc2217"] = "serial"
    baud: int = 9600
    bits: Literal[5, 6, 7, 8] = 8
    parity: Literal["N", "E", "O", "M", "S"] = "N"
    stop: float = 1
    dtr: bool | None = None
    rts: bool | None = None
    keyboard: Literal["us", "de", "fr"] | None = None
    alt_numpad: bool = False


class Trigger(msgspec.Struct, frozen=True):
    """What asks the gauge for a reading, as bytes; empty if it speaks unasked, or if its kind says
    how it is asked. `reply_ms`: how long to wait for an answer.
    """

    send: bytes = b""
    reply_ms: int = 1000
    echo: bool = False


class CheckCharacter(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The frame's check character."""

    kind: Literal["xor8", "sum8"]
    form: Literal["raw", "hex2"]
    sep: str = ""
    over: Literal["payload", "payload+end"] = "payload"


class Profile(msgspec.Struct, frozen=True):
    """A whole profile, checked. `text` is the file as read, for the record.

    `layout` holds the tokens of a text profile; `bcd` and `modbus` are there for those kinds only.
    `resolution` is None where the digits sent say it, one decimal for every unit, or a decimal for
    each. `conditions` are (pattern, name), the pattern with the fewest wildcards first.
    """

    id: str
    title: str
    kind: Literal["text", "bcd", "modbus-rtu"]
    text: str
    link: Link
    trigger: Trigger
    frame: FrameSpec
    check: CheckCharacter | None
    layout: tuple[Token, ...]
    conditions: tuple[tuple[str, str], ...]
    sentinels: tuple[tuple[Decimal, str], ...]
    unit: str
    resolution: Decimal | dict[str, Decimal] | None
    least: Decimal | None
    most: Decimal | None
    repeat_window_ms: int
    bcd: Bcd | None = None
    modbus: Modbus | None = None

    @property
    def is_asked(self) -> bool:
        """The gauge gives a reading when it is asked for one."""
        return bool(self.trigger.send) or self.modbus is not None

    def condition(self, text: str) -> str | None:
        """The condition that the whole text stands for, if any."""
        for pattern, name in self.conditions:
            if len(pattern) == len(text) and all(
                p in ("?", c) for p, c in zip(pattern, text, strict=True)
            ):
                return name
        return None

    def resolution_in(self, unit: str) -> Decimal | None:
        """The declared resolution in `unit`; None if the digits sent say it."""
        if isinstance(self.resolution, dict):
            return self.resolution.get(unit)
        return self.resolution

    def units(self) -> tuple[str, ...]:
        """Every unit that a reading of this profile can have, sorted."""
        return tuple(sorted(units_of(self.layout, self.bcd, self.unit)))

    def statuses(self) -> frozenset[str]:
        """Every flag name that a reading of this profile can carry."""
        names: set[str] = set()
        for token in self._tokens():
            if isinstance(token, Flag):
                names.update(token.map.values())
            elif isinstance(token, Bits | bcd_spec.BcdStatus):
                names.update(token.bits.values())
        return frozenset(name for name in names if name and not name.startswith("!"))

    def has_channel(self) -> bool:
        """The gauge says which of its inputs a reading came from."""
        return any(isinstance(token, Channel | bcd_spec.BcdChannel) for token in self._tokens())

    def _tokens(self) -> tuple[Token | bcd_spec.Nibbles, ...]:
        return self.layout + (self.bcd.tokens if self.bcd is not None else ())


def units_of(layout: tuple[Token, ...], bcd: Bcd | None, default: str) -> set[str]:
    """Every unit that a frame of this layout can give; `default` where it names none."""
    for token in layout + (bcd.tokens if bcd is not None else ()):
        if isinstance(token, Unit):
            return set(token.map.values()) | ({default} if token.optional else set())
        if isinstance(token, bcd_spec.BcdUnit):
            return set(token.map.values())
    return {default}
