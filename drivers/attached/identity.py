"""How a USB device is known again: by its serial number where that is its own, else by its socket.
Pure.
"""

from drivers.attached.device_id import DeviceId
from drivers.attached.tree import Tree, Tty, UsbDevice
from drivers.attached.usb_name import usable_serial


def own_serial(unit: UsbDevice, tree: Tree) -> str | None:
    """The device's serial number, unless an equal device that is attached has the same one."""
    serial = usable_serial(unit.serial)
    if serial is None or any(
        usable_serial(other.serial) == serial for other in _equals(unit, tree)
    ):
        return None
    return serial


def looks_like_another(unit: UsbDevice, tree: Tree) -> bool:
    """An equal device is attached, and no serial number tells the two apart."""
    return own_serial(unit, tree) is None and bool(_equals(unit, tree))


def identity_of_unit(unit: UsbDevice, tree: Tree) -> DeviceId:
    """`usb:VID:PID:SERIAL`, or `usb:VID:PID@BUS-PORT` where the serial number does not tell."""
    kind = f"usb:{unit.vendor}:{unit.product}"
    serial = own_serial(unit, tree)
    text = f"{kind}@{unit.socket}" if serial is None else f"{kind}:{serial}"
    return DeviceId(text, serial, unit.socket)


def identity_of_tty(tty: Tty, tree: Tree) -> DeviceId:
    """As its USB device, with `#` and the interface where the device has several serial ports;
    the node's path where there is no USB device.
    """
    unit = tree.unit(tty.socket)
    if unit is None:
        return DeviceId(tty.node)
    known = identity_of_unit(unit, tree)
    if sum(other.socket == tty.socket for other in tree.ttys) == 1:
        return known
    line = f".{tty.line}" if tty.line else ""
    return DeviceId(f"{known.text}#{tty.interface}{line}", known.serial, known.socket)


def _equals(unit: UsbDevice, tree: Tree) -> list[UsbDevice]:
    return [
        other
        for other in tree.units
        if other.socket != unit.socket
        and (other.vendor, other.product) == (unit.vendor, unit.product)
    ]
