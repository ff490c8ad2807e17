"""One look for an unplugged gauge: the same one under whatever name, or what took its place."""

import os
import re

from drivers.attached.device_id import DeviceId
from drivers.attached.discovery import Attached, attached
from drivers.errors import PortLost, PortUnavailable
from drivers.ports import open_port
from drivers.ports.base import Port
from drivers.profile.profile import Link

_MAKE = len("usb:1209:0001")
_PSEUDO_TERMINAL = re.compile(r"/dev/pts/\d+")


def can_return(name: str) -> bool:
    """A device on this port can be known again: not so behind the number of a pseudo-terminal,
    which belongs to whichever program opens one next.
    """
    return not _PSEUDO_TERMINAL.fullmatch(name) and name != "loop://"


def look_for(
    name: str, identity: DeviceId, link: Link, *, gone_s: float, or_other: bool
) -> Port | None:
    """The open port of the gauge `identity` that was on port `name` until `gone_s` seconds ago.

    None if it is not there.

    `or_other`: also another device, if it is in the same socket; of keyboard-type ones only another
    of the same make, since a person's keyboard may be plugged in there. The caller compares
    identities.
    Raises PortError where something is there and cannot be used: busy, not permitted, or not to be
    told from another device.
    """
    for place in _places(name, identity, gone_s, or_other):
        port = _opened(place, link)
        if port is None:
            continue
        if port.identity.text == identity.text or or_other:
            return port
        found = port.identity.text
        port.close()
        raise PortUnavailable(place, f"{found} is there, waiting for {identity.text}")
    return None


def _places(name: str, identity: DeviceId, gone_s: float, or_other: bool) -> list[str]:
    """Port names on which to look, the surest first."""
    if "://" in name:
        return [name]
    if not identity.text.startswith("usb:"):
        return [name] if os.path.exists(name) else []
    found = attached()
    same = [one for one in found if one.identity == identity.text]
    places = [one.port for one in same if not _is_twin(one, identity, gone_s)]
    if not places and or_other and identity.socket:
        there = [one for one in found if one.socket == identity.socket]
        places = [
            one.port
            for one in there
            if _interface(one.identity) == _interface(identity.text)
            and (one.kind == "serial" or _is_like(one, identity))
        ]
    alike = [one for one in found if one.alike and identity.serial and _is_like(one, identity)]
    if not places and (same or alike):
        raise PortUnavailable(
            (same or alike)[0].port,
            f"another device cannot be told from {identity.text}: unplug the other one, and plug "
            "the gauge in where it was",
        )
    return places


def _is_twin(one: Attached, identity: DeviceId, gone_s: float) -> bool:
    """Another device of the same number: it was in its socket before the gauge was lost."""
    if one.socket == identity.socket or one.connected_ms is None:
        return False
    return one.connected_ms >= gone_s * 1000


def _interface(identity: str) -> str:
    """Which of a device's several ports, "" if it has one."""
    return identity.partition("#")[2]


def _is_like(one: Attached, identity: DeviceId) -> bool:
    """Same vendor and product: the first two numbers of both identities."""
    return one.identity[:_MAKE] == identity.text[:_MAKE]


def _opened(place: str, link: Link) -> Port | None:
    try:
        return open_port(place, link)
    except PortLost:
        return None  # it went again
    except PortUnavailable:
        if place.startswith("/") and not os.path.exists(place):
            return None
        raise
