"""What the user of one attached device should know and do. Pure."""

import os.path
import shlex

from drivers.attached.discovery import Attached
from drivers.attached.services import BRAILLE, MODEM

SLOW_MS = 2
"""A holding time over this is worth a word; what an adapter can be set to is 1."""

BRAILLE_CURES = (
    "If nobody here needs Braille, stop that service. If somebody does, let it "
    "run, blind people need it: give the gauge an adapter of another make, or "
    "update the service to 6.5 or newer"
)


def why_not_usable(device: Attached, library_trouble: str) -> str:
    """Why a device cannot be used and what to do; "" if nothing shows that. `library_trouble`: why
    no keyboard-type device can be read on this machine, "" if it can.
    """
    if device.unreadable:
        return device.unreadable
    also = library_trouble if device.kind == "keyboard" else ""
    return ". Besides, ".join(text for text in (device.trouble, also) if text)


def latency_advice(latency_ms: int | None, node: str) -> str:
    """For an adapter that holds back small packets; "" if it does not."""
    if latency_ms is None or latency_ms < SLOW_MS:
        return ""
    name = os.path.basename(node)
    path = f"/sys/bus/usb-serial/devices/{name}/latency_timer"
    return (
        f"its adapter may hold back what the gauge sends, for up to {latency_ms} ms. No "
        "harm where you press send; a profile that goes by silence needs idle_ms of 40 "
        "or more, or this until it is unplugged: `echo 1 | sudo tee "
        f"{shlex.quote(path)}` (for good: the rule of `jbridge udev`)"
    )


def typed_advice() -> str:
    """For a keyboard that is not on USB."""
    return (
        "it is not on USB, so what it types cannot be kept apart from the desktop. If "
        "it is a gauge, use `--port typed:` and keep this program's window in front"
    )


def sleep_advice(power: str) -> str:
    """For a USB device that the system may put to sleep; "" if it may not."""
    if power != "auto":
        return ""
    return (
        "the system may put it to sleep when idle, and the first reading after that "
        "may be lost: the rule of `jbridge udev` keeps it awake"
    )


def driverless_advice(is_driverless: bool, holders: tuple[str, ...]) -> str:
    """For a keyboard that no driver has and no program that shows either; "" for any other."""
    if not is_driverless or holders:
        return ""
    return (
        "it types for nobody: a program that was stopped while it read the device left "
        "it so. `jbridge ports --release` gives it back to the system"
    )


def alike_advice(is_alike: bool) -> str:
    """For a device that cannot be told from another; "" if it can."""
    if not is_alike:
        return ""
    return (
        "another device looks the same and has no serial number either: the two are "
        "told apart by their USB sockets. Label the sockets, and never change the "
        "plugs over"
    )


def modem_advice(running: frozenset[str], is_kept: bool, is_usb_serial: bool) -> str:
    """For a port into which modem software may write; "" if it does not."""
    if MODEM not in running or is_kept or not is_usb_serial:
        return ""
    return (
        f"{MODEM} is running and talks to new ports for up to 20 s after they are "
        "plugged in: wait so long, or use the rule of `jbridge udev`, which keeps it "
        "away"
    )


def stolen_advice(running: frozenset[str], holders: tuple[str, ...]) -> str:
    """For an adapter whose port was taken away soon after it appeared; `holders` are the commands
    that have it open, as far as they show.
    """
    if BRAILLE in running or BRAILLE in holders:
        return (
            f"{BRAILLE}, the service for Braille displays, is running and may take the "
            f"adapter for its own. {BRAILLE_CURES}"
        )
    return ""


def went_soon_advice(running: frozenset[str]) -> str:
    """For a port that was there for a moment only."""
    return stolen_advice(running, ()) or (
        "a loose plug, a weak cable or hub, or a service that took it for its own device: "
        "`journalctl -k -e` shows which"
    )
