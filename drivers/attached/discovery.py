"""What is plugged in, and how to find a known device again."""

import os

import msgspec

from drivers.attached.access import rights_on, why_not
from drivers.attached.device_id import DeviceId
from drivers.attached.identity import (
    identity_of_tty,
    identity_of_unit,
    looks_like_another,
    own_serial,
)
from drivers.attached.links import link_to
from drivers.attached.machine import THIS_MACHINE, Machine
from drivers.attached.tree import BOOT_KEYBOARD, Tree, Tty, UsbDevice
from drivers.printable import shown

TYPED = "typed:"
"""The port of a gauge that types into this program's own window."""

CANNOT_BE_READ = (
    "its keys come in a form that this program cannot read. Set the gauge to "
    "virtual COM port if it has one, or use `--port typed:` and keep this "
    "program's window in front"
)


class Attached(msgspec.Struct, frozen=True, kw_only=True):
    """One device that a gauge may be: `port` is what --port takes, "" if it has none.

    `kind` is serial, keyboard, candidate or typed; `link` a name that stays the same, "" if there
    is none. `trouble` says why this login may not open it and what to do, "" if it may;
    `unreadable` why it would be of no use, "" as long as nothing shows it. `alike`: another
    attached device cannot be told from this one. `number` changes with every plugging in.
    `is_driverless`: no driver has the keyboard, so it types for nobody. `connected_ms`: since when
    it is plugged in.
    """

    port: str
    kind: str
    looks_like: str
    identity: str
    trouble: str = ""
    socket: str = ""
    node: str = ""
    link: str = ""
    alike: bool = False
    latency_ms: int | None = None
    power: str = ""
    number: str = ""
    is_driverless: bool = False
    connected_ms: int | None = None
    unreadable: str = ""


def attached(machine: Machine = THIS_MACHINE) -> tuple[Attached, ...]:
    """Serial ports by device path, then keyboard-type USB devices by name; nothing is opened.

    Pseudo-terminals and network ports are never listed.
    """
    tree = tree_of(machine)
    serial = [_serial(tty, tree, machine) for tty in tree.ttys]
    keyboards = [
        _keyboard(unit, tree)
        for unit in tree.units
        if any(interface.is_keyboard for interface in unit.interfaces)
    ]
    return (*serial, *sorted(keyboards, key=lambda found: found.port))


def candidates(machine: Machine = THIS_MACHINE) -> tuple[Attached, ...]:
    """USB devices that might be gauges and have no port to open, each with the reason."""
    tree = tree_of(machine)
    return tuple(
        Attached(
            port="",
            kind="candidate",
            looks_like=_title(unit),
            identity=identity_of_unit(unit, tree).text,
            trouble=reason,
            socket=unit.socket,
            node=unit.node,
            alike=looks_like_another(unit, tree),
            number=unit.number,
        )
        for unit in tree.units
        if (reason := _why_no_port(unit, tree))
    )


def typing_only(machine: Machine = THIS_MACHINE) -> tuple[Attached, ...]:
    """Keyboards that are not on USB: no program can have one to itself, so a gauge among them is
    used as `typed:`.
    """
    return tuple(
        Attached(
            port=TYPED,
            kind="typed",
            looks_like=f"{one.title}, by {one.by}",
            identity=f"input:{one.ids}",
            number=one.number,
        )
        for one in tree_of(machine).others
    )


def port_of(identity: str) -> str | None:
    """The port on which the device of this identity is now; None if it is not there."""
    return next((found.port for found in attached() if found.identity == identity), None)


def identity_of(name: str, machine: Machine = THIS_MACHINE) -> DeviceId:
    """How the device on serial port `name` is known again; the name itself where it is not USB."""
    if "://" in name or not _has_nodes() or not may_be_usb(name):
        return DeviceId(name)
    real = os.path.realpath(name)
    tree = tree_of(machine)
    found = next((tty for tty in tree.ttys if os.path.realpath(tty.node) == real), None)
    if found is None or tree.unit(found.socket) is None:
        return DeviceId(name)
    return identity_of_tty(found, tree)


def tree_of(machine: Machine = THIS_MACHINE) -> Tree:
    """The devices of this machine, by the way that its system offers."""
    if (machine.sys / "class/tty").is_dir():
        from drivers.attached.sysfs import scan  # noqa: PLC0415 - the way of one system

        return scan(machine)
    from drivers.attached.listed import listed  # noqa: PLC0415 - loads pyserial

    return listed()


def _serial(tty: Tty, tree: Tree, machine: Machine) -> Attached:
    unit = tree.unit(tty.socket)
    has_own_number = unit is not None and own_serial(unit, tree) is not None
    return Attached(
        port=tty.node,
        kind="serial",
        looks_like="a port of the machine itself" if unit is None else _title(unit),
        identity=identity_of_tty(tty, tree).text,
        trouble=_trouble_of(tty, unit),
        socket="" if unit is None else unit.socket,
        node=tty.node,
        link=link_to(tty.node, has_own_number, machine),
        alike=unit is not None and looks_like_another(unit, tree),
        latency_ms=tty.latency_ms,
        power="" if unit is None else unit.power,
        number="" if unit is None else unit.number,
        connected_ms=None if unit is None else unit.connected_ms,
    )


def _trouble_of(tty: Tty, unit: UsbDevice | None) -> str:
    if not _has_nodes():
        return ""
    return why_not(rights_on(tty.node), tty.node, is_usb=unit is not None)


def _keyboard(unit: UsbDevice, tree: Tree) -> Attached:
    identity = identity_of_unit(unit, tree).text
    return Attached(
        port=identity,
        kind="keyboard",
        looks_like=_title(unit),
        identity=identity,
        trouble=why_not(rights_on(unit.node), identity, is_usb=True),
        socket=unit.socket,
        node=unit.node,
        alike=looks_like_another(unit, tree),
        power=unit.power,
        number=unit.number,
        is_driverless=not any(one.driver for one in unit.interfaces if one.is_keyboard),
        connected_ms=unit.connected_ms,
        unreadable="" if _may_be_read(unit) else CANNOT_BE_READ,
    )


def _may_be_read(unit: UsbDevice) -> bool:
    """Nothing shows that the interface which is opened could not be read: a boot keyboard may be
    asked for the boot form; any other sends what it describes.
    """
    keyboards = [one for one in unit.interfaces if one.is_keyboard]
    if any(one.kind == BOOT_KEYBOARD for one in keyboards):
        return True
    return not keyboards or keyboards[0].is_boot_form is not False


def _title(unit: UsbDevice) -> str:
    text = unit.title
    if unit.maker and not text.startswith(unit.maker):
        text = f"{unit.maker} {text}"
    return shown(text.strip()) or f"USB device {unit.vendor}:{unit.product}, no name given"


def _why_no_port(unit: UsbDevice, tree: Tree) -> str:
    """Why a device that may be a serial gauge has no port; "" if it has one or is none."""
    if any(tty.socket == unit.socket for tty in tree.ttys):
        return ""
    serial = [one for one in unit.interfaces if one.kind[:2] == ("02", "02")]
    other = [one for one in unit.interfaces if one.kind[0] == "ff"]
    if any(one.driver == "usbfs" for one in (*serial, *other)):
        return (
            "another program has taken it, so it has no port. End that program, then "
            "unplug it and plug it in again"
        )
    if any(not one.driver for one in serial) or (
        other and not any(one.driver for one in unit.interfaces)
    ):
        return (
            "the system has no driver for it, so it has no port. If it is a serial "
            "adapter, its driver is missing or forbidden: `journalctl -k -e` shows which"
        )
    return ""


def _has_nodes() -> bool:
    return os.name == "posix"


def may_be_usb(name: str) -> bool:
    """A device path that, by its name, may belong to a USB device."""
    base = os.path.basename(os.path.realpath(name))
    return base.startswith(("ttyUSB", "ttyACM", "ttyXRUSB", "cu."))
