"""Ports by the first word of their name; each kind is imported only when it is opened."""

from collections.abc import Callable
from typing import TypeAlias

from drivers.errors import PortNameError
from drivers.ports.base import Port
from drivers.profile import Link

Factory: TypeAlias = Callable[[str, Link], Port]


def _serial(name: str, link: Link) -> Port:
    from drivers.ports.serial_port import open_serial  # noqa: PLC0415 - loads pyserial

    return open_serial(name, link)


FACTORIES: dict[str, Factory] = {
    "socket": _serial,
    "rfc2217": _serial,
    "loop": _serial,
}
"""URL schemes; a name without one is a device path."""


def check_port_name(name: str) -> None:
    """Raises PortNameError if no kind of port has such a name; opens nothing."""
    _factory(name)


def open_port(name: str, link: Link) -> Port:
    """Open the port called `name` with the settings of `link`.

    Raises PortNameError, PortUnavailable or PortBusy.
    """
    return _factory(name)(name, link)


def _factory(name: str) -> Factory:
    if not name or not name.isprintable():
        raise PortNameError(repr(name), "not a port name: it is empty or has control characters")
    scheme, mark, _ = name.partition("://")
    if mark:
        if scheme in FACTORIES:
            return FACTORIES[scheme]
        known = ", ".join(f"{word}://" for word in FACTORIES)
        raise PortNameError(name, f"unknown kind; use a device path or one of {known}")
    if name.startswith("/") or (name.upper().startswith("COM") and name[3:].isdigit()):
        return _serial
    raise PortNameError(name, "not a device path (like /dev/ttyUSB0) and not a URL like socket://")
