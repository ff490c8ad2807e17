"""Names of keyboard-type USB devices: which kind, and which one of it. Pure."""

import re

import msgspec

from drivers.errors import PortNameError

SCHEME = "usb:"
FORMS = "usb:VVVV:PPPP, usb:VVVV:PPPP:SERIAL or usb:VVVV:PPPP@BUS-PORT.PORT"
"""VVVV and PPPP are the vendor and product id, four hexadecimal digits each."""

_NAME = re.compile(
    r"usb:([0-9a-f]{4}):([0-9a-f]{4})(?::(.+)|@([0-9]{1,3}-[0-9]{1,3}(?:\.[0-9]{1,3}){0,6}))?",
    re.IGNORECASE | re.ASCII,
)
_MOST_SERIAL = 126
"""Characters that fit into a USB string descriptor. Source: USB 2.0, 9.6.7 (from memory)."""


class UsbName(msgspec.Struct, frozen=True):
    """A device by vendor and product id, and by at most one of serial number and socket.

    `socket` is the bus and the ports from there on, like 1-2.3, as the system numbers them.
    """

    vendor: int
    product: int
    serial: str | None = None
    socket: str | None = None

    @property
    def is_explicit(self) -> bool:
        """It names one device, not a kind of device."""
        return self.serial is not None or self.socket is not None

    def __str__(self) -> str:
        kind = f"{SCHEME}{self.vendor:04x}:{self.product:04x}"
        if self.serial is not None:
            return f"{kind}:{self.serial}"
        return kind if self.socket is None else f"{kind}@{self.socket}"


def is_usb_name(name: str) -> bool:
    """It is meant as a name of this kind; whether it is right, `parse_usb_name` says."""
    return name[: len(SCHEME)].lower() == SCHEME


def parse_usb_name(name: str) -> UsbName:
    """The device that a name means; ids in upper or lower case. Raises PortNameError."""
    found = _NAME.fullmatch(name)
    serial = found[3] if found else None
    if found is None or (serial is not None and usable_serial(serial) != serial):
        shown = name if name.isprintable() else repr(name)
        raise PortNameError(shown, f"not the name of a USB device: write {FORMS}")
    return UsbName(int(found[1], 16), int(found[2], 16), serial, found[4])


def usable_serial(text: str | None) -> str | None:
    """A device's serial number as it can stand in a name; None if it has none, or one that cannot
    be written and read back (control characters, nothing but blanks, far too long).
    """
    serial = (text or "").strip()
    return serial if serial.isprintable() and 0 < len(serial) <= _MOST_SERIAL else None
