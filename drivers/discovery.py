"""What is plugged in, and how to find a known device again."""

import os

import msgspec

from drivers.ports.serial_port import identity_of


class Attached(msgspec.Struct, frozen=True):
    """One serial port of this machine: its device path, what it looks like, how it is known again,
    and why it cannot be opened ("" if it can).
    """

    port: str
    looks_like: str
    identity: str
    trouble: str


def attached() -> tuple[Attached, ...]:
    """The serial ports that the system lists, by device path. Pseudo-terminals are never listed."""
    from serial.tools.list_ports import comports  # noqa: PLC0415 - scans the machine

    return tuple(
        Attached(
            port=found.device,
            looks_like=_clean(found.description or ""),
            identity=identity_of(found.device).text,
            trouble=_trouble(found.device),
        )
        for found in sorted(comports(), key=lambda found: found.device)
    )


def port_of(identity: str) -> str | None:
    """The device path on which the device of this identity is now; None if it is not there."""
    return next((found.port for found in attached() if found.identity == identity), None)


def _trouble(device: str) -> str:
    if not os.access(device, os.R_OK | os.W_OK):
        return (
            "this user may not open it: join the group that owns it (dialout on Debian) and log in "
            "again, or install a rule like the one in udev/"
        )
    return ""


def _clean(text: str) -> str:
    """A descriptor string without anything a terminal would obey."""
    return "".join(char if char.isprintable() else "?" for char in text)[:80]
