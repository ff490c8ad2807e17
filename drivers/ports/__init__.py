"""Ports by the first word of their name; each kind is imported only when it is opened."""

from collections.abc import Callable
from typing import TypeAlias

from drivers.attached.usb_name import is_usb_name, parse_usb_name
from drivers.errors import PortNameError
from drivers.ports.base import Port
from drivers.profile.profile import Link

Factory: TypeAlias = Callable[[str, Link], Port]


def _serial(name: str, link: Link) -> Port:
    from drivers.ports.serial_port import open_serial  # noqa: PLC0415 - loads pyserial

    return open_serial(name, link)


def _usb(name: str, link: Link) -> Port:
    from drivers.ports.usb_keyboard import open_usb_keyboard  # noqa: PLC0415 - loads pyusb

    return open_usb_keyboard(name, link)


FACTORIES: dict[str, Factory] = {
    "socket": _serial,
    "rfc2217": _serial,
    "loop": _serial,
    "usb": _usb,
}
"""First words of a name; a name without one is a device path."""

_URLS = ("socket", "rfc2217", "loop")


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
    if is_usb_name(name):
        parse_usb_name(name)
        return FACTORIES["usb"]
    scheme, mark, _ = name.partition("://")
    if mark:
        if scheme in _URLS:
            _check_url(name, scheme)
            return FACTORIES[scheme]
        known = ", ".join(f"{word}://" for word in _URLS)
        raise PortNameError(
            name, f"unknown kind; use a device path, one of {known}, or usb:VVVV:PPPP"
        )
    if name.startswith("/") or (name.upper().startswith("COM") and name[3:].isdigit()):
        return _serial
    raise PortNameError(
        name,
        "not a device path (like /dev/ttyUSB0), not a URL like socket://, and not usb:VVVV:PPPP",
    )


def _check_url(name: str, scheme: str) -> None:
    """A network port names host and port; raises PortNameError."""
    from urllib.parse import urlsplit  # noqa: PLC0415 - only for a URL

    try:
        parts = urlsplit(name)
        port = parts.port
    except ValueError as error:  # out of range, or a broken bracket
        raise PortNameError(name, f"not a host and a port: {error}") from error
    if scheme == "loop":
        fits, form = name == "loop://", "loop://"
    else:
        plain = not (parts.username or parts.password or parts.fragment or parts.path.strip("/"))
        fits = bool(parts.hostname) and bool(port) and plain
        fits = fits and (not parts.query or scheme == "rfc2217")
        form = f"{scheme}://HOST:PORT"
    if not fits:
        raise PortNameError(name, f"write {form}")
