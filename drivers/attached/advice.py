"""What the user of one attached device should know and do. Pure."""

import os.path
import shlex

from drivers.attached.discovery import Attached
from drivers.attached.services import BRAILLE, MODEM

SLOW_MS = 2
"""A holding time over this is worth a word; what an adapter can be set to is 1."""

BRAILLE_CURES = (
    "If nobody needs Braille on this machine, that service can be stopped; if somebody does, it "
    "must stay: it is how blind people use the machine. Then give the gauge an adapter of another "
    "make, or update the service: from version 6.5 its package has the rules for common adapter "
    "chips apart, so that these can be left out"
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
        f"its adapter holds back small packets for up to {latency_ms} ms. No harm where you press "
        "send; a profile whose frames end by silence needs idle_ms of 40 or more, or a shorter "
        f"wait, until it is unplugged: `echo 1 | sudo tee {shlex.quote(path)}`, for good: the rule "
        "of `jbridge udev`"
    )


def typed_advice() -> str:
    """For a keyboard that is not on USB."""
    return (
        "it is not on USB, so its keys cannot be kept from the desktop. If it is a gauge, it can "
        "be used with `--port typed:` only: it then types into this program's own window, which "
        "must stay in front"
    )


def sleep_advice(power: str) -> str:
    """For a USB device that the system may put to sleep; "" if it may not."""
    if power != "auto":
        return ""
    return (
        "the system may put it to sleep when idle, which can eat the first bytes: the rule of "
        "`jbridge udev` keeps it awake"
    )


def driverless_advice(is_driverless: bool, holders: tuple[str, ...]) -> str:
    """For a keyboard that no driver has and no program that shows either; "" for any other."""
    if not is_driverless or holders:
        return ""
    return (
        "no driver has it, so it types for nobody: a program that was killed while it read the "
        "device left it so. `jbridge ports --release` gives it back to the system"
    )


def alike_advice(is_alike: bool) -> str:
    """For a device that cannot be told from another; "" if it can."""
    if not is_alike:
        return ""
    return (
        "another device looks the same and no serial number tells the two apart: they are known by "
        "their USB sockets. Label the sockets, and never change the plugs over"
    )


def modem_advice(running: frozenset[str], is_kept: bool, is_usb_serial: bool) -> str:
    """For a port into which modem software may write; "" if it does not."""
    if MODEM not in running or is_kept or not is_usb_serial:
        return ""
    return (
        f"{MODEM} is running and sends modem commands into new ports for up to 20 s after they are "
        "plugged in; the rule of `jbridge udev` keeps it away"
    )


def stolen_advice(running: frozenset[str], holders: tuple[str, ...]) -> str:
    """For an adapter whose port was taken away soon after it appeared; `holders` are the commands
    that have it open, as far as they show.
    """
    if BRAILLE in running or BRAILLE in holders:
        return (
            f"{BRAILLE}, the service for Braille displays, is running and takes adapters of some "
            f"common makes for its own. {BRAILLE_CURES}"
        )
    return ""


def went_soon_advice(running: frozenset[str]) -> str:
    """For a port that was there for a moment only."""
    return stolen_advice(running, ()) or (
        "a loose plug, a weak cable or hub, or a service that took it for its own device: "
        "`journalctl -k -e` shows which"
    )
