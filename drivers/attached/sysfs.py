"""The tree of devices as Linux shows it under /sys; reading it needs no rights and opens nothing.

Source: the kernel's Documentation/ABI, sysfs-bus-usb, sysfs-tty and sysfs-class-tty (from memory).
"""

import os
from pathlib import Path

from drivers.attached.input_list import other_keyboards
from drivers.attached.machine import Machine
from drivers.attached.tree import BOOT_KEYBOARD, Tree, Tty, UsbDevice, UsbInterface
from drivers.hid.descriptor import KeyboardReports, keyboard_reports

_MOST_BYTES = 4096
_MOST_LISTED_BYTES = 256 * 1024
_HUB = "09"
_HID = "03"


def scan(machine: Machine) -> Tree:
    """What is attached now. What vanishes while it is read is left out."""
    units, ttys = [], []
    for name in _names(machine.sys / "bus/usb/devices"):
        unit = _unit(machine, name)
        if unit is not None:
            units.append(unit)
    for name in _names(machine.sys / "class/tty"):
        tty = _tty(machine, name)
        if tty is not None:
            ttys.append(tty)
    listed = _listed(machine.proc / "bus/input/devices")
    return Tree(tuple(units), tuple(ttys), other_keyboards(listed))


def _names(folder: Path) -> list[str]:
    try:
        return sorted(os.listdir(folder))
    except OSError:
        return []


def _unit(machine: Machine, name: str) -> UsbDevice | None:
    """A device; None for an interface, a hub, or a host controller."""
    folder = machine.sys / "bus/usb/devices" / name
    if ":" in name or name.startswith("usb") or _text(folder / "bDeviceClass") == _HUB:
        return None
    vendor, product = _text(folder / "idVendor"), _text(folder / "idProduct")
    if not vendor or not product:
        return None
    bus, number = _text(folder / "busnum"), _text(folder / "devnum")
    is_placed = bus.isdecimal() and number.isdecimal()
    since = _text(folder / "power/connected_duration")
    return UsbDevice(
        socket=name,
        vendor=vendor.lower(),
        product=product.lower(),
        serial=_text(folder / "serial") or None,
        maker=_text(folder / "manufacturer"),
        title=_text(folder / "product"),
        node=str(machine.dev / f"bus/usb/{int(bus):03}/{int(number):03}") if is_placed else "",
        number=number,
        power=_text(folder / "power/control"),
        connected_ms=int(since) if since.isdecimal() else None,
        interfaces=tuple(
            _interface(folder / inner) for inner in _names(folder) if inner.startswith(f"{name}:")
        ),
    )


def _interface(folder: Path) -> UsbInterface:
    kind = tuple(
        _text(folder / f"bInterface{part}").lower() for part in ("Class", "SubClass", "Protocol")
    )
    driver = folder / "driver"
    described = _described_keyboard(folder) if kind[0] == _HID else None
    return UsbInterface(
        number=_text(folder / "bInterfaceNumber"),
        kind=(kind[0], kind[1], kind[2]),
        driver=driver.resolve().name if driver.is_symlink() else "",
        is_keyboard=kind[0] == _HID and (kind == BOOT_KEYBOARD or described is not None),
        is_boot_form=None if described is None else described.is_boot_form,
    )


def _described_keyboard(folder: Path) -> KeyboardReports | None:
    """A HID device says in its report descriptor what it is; the kernel shows that to everybody."""
    for inner in _names(folder):
        try:
            with (folder / inner / "report_descriptor").open("rb") as file:
                found = keyboard_reports(file.read(_MOST_BYTES))
        except OSError:
            continue
        if found is not None:
            return found
    return None


def _tty(machine: Machine, name: str) -> Tty | None:
    """A serial port; None for a virtual terminal, and for a port without hardware (type 0)."""
    folder = machine.sys / "class/tty" / name
    device = folder / "device"
    is_radio = name.startswith("rfcomm")
    if not (device.exists() or is_radio) or _text(folder / "type") == "0":
        return None
    node = str(machine.dev / name)
    interface, place = "", device.resolve()
    while place not in (place.parent, machine.sys):
        interface = interface or _text(place / "bInterfaceNumber")
        if (place / "idVendor").exists():
            wait = _text(machine.sys / "bus/usb-serial/devices" / name / "latency_timer")
            line = _text(device / "port_number")
            return Tty(
                node=node,
                socket=place.name,
                interface=interface,
                line=int(line) if line.isdecimal() else 0,
                latency_ms=int(wait) if wait.isdecimal() else None,
            )
        place = place.parent
    return Tty(node=node)


def _listed(path: Path) -> str:
    """The system's list of input devices; "" where there is none."""
    try:
        with path.open("rb") as file:
            return file.read(_MOST_LISTED_BYTES).decode("utf-8", "replace")
    except OSError:
        return ""


def _text(path: Path) -> str:
    """The text of one attribute, without the line end that the kernel adds; "" if it has none."""
    try:
        with path.open("rb") as file:
            return file.read(_MOST_BYTES).decode("utf-8", "replace").removesuffix("\n")
    except OSError:
        return ""
