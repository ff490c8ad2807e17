"""Which of the attached USB devices a name means, and whether it may be taken. Pure.

A keyboard that the system uses is somebody's means to stop this program, so nothing is guessed:
a name that fits two devices is refused, and so is one that would take the last keyboard without
saying which device is meant.
"""

from collections.abc import Sequence

import msgspec

from drivers.attached.device_id import DeviceId
from drivers.attached.usb_name import UsbName, usable_serial
from drivers.errors import PortUnavailable


class BusDevice(msgspec.Struct, frozen=True, kw_only=True):
    """One attached device as far as it is known without opening it.

    `keyboards` are the numbers of its boot keyboard interfaces, `others` those of its further HID
    interfaces that may be keyboards (boot mice are not). `bound` are those of both that
    the system's driver has. `title` is the product text, cleaned.
    """

    vendor: int
    product: int
    serial: str | None = None
    socket: str | None = None
    title: str = ""
    node: str = ""
    keyboards: tuple[int, ...] = ()
    others: tuple[int, ...] = ()
    bound: tuple[int, ...] = ()

    @property
    def is_keyboard_type(self) -> bool:
        """It can be read as a keyboard, as far as its interfaces tell."""
        return bool(self.keyboards or self.others)

    @property
    def is_users_keyboard(self) -> bool:
        """It types on this machine now; only boot keyboards do for sure."""
        return any(number in self.bound for number in self.keyboards)


def identity(device: BusDevice, attached: Sequence[BusDevice]) -> DeviceId:
    """How the device is known again: by its serial number if no equal device shares it, else by
    its socket.
    """
    socket = device.socket or ""
    serial = usable_serial(device.serial)
    if serial is not None and sum(_has(one, serial) for one in _equals(device, attached)) == 1:
        name = UsbName(device.vendor, device.product, serial)
        return DeviceId(str(name), serial, socket)
    return DeviceId(str(UsbName(device.vendor, device.product, socket=device.socket)), None, socket)


def choose(name: UsbName, attached: Sequence[BusDevice]) -> BusDevice:
    """The one device that `name` means and that may be taken.

    Refused is a name of vendor and product id alone if the device is the only keyboard in use on
    this machine: it may be the user's. To name it by serial number or socket is to have chosen it,
    so that a machine with nothing attached but its gauge works. Raises PortUnavailable.
    """
    kind = [one for one in attached if (one.vendor, one.product) == (name.vendor, name.product)]
    fitting = [one for one in kind if _fits(name, one)]
    keyboards = [one for one in fitting if one.is_keyboard_type]
    if not fitting:
        raise PortUnavailable(str(name), _absent(kind, attached))
    if not keyboards:
        raise PortUnavailable(
            str(name),
            ("it is attached and does not type like a keyboard. If it has a serial port, use that"),
        )
    if len(keyboards) > 1:
        raise PortUnavailable(
            str(name),
            f"{len(keyboards)} attached devices look like this. Choose one by its own name: "
            + _listed(keyboards, attached),
        )
    device = keyboards[0]
    if device.bound and not name.is_explicit and not _another_keyboard(device, attached):
        raise PortUnavailable(
            str(name),
            (
                "it is the only USB keyboard in use here, and you may be left without one. If "
                f"it is the gauge, give its whole name: {_listed([device], attached)}"
            ),
        )
    return device


def _fits(name: UsbName, device: BusDevice) -> bool:
    if name.serial is not None:
        return _has(device, name.serial)
    return name.socket in (None, device.socket)


def _has(device: BusDevice, serial: str) -> bool:
    return usable_serial(device.serial) == serial


def _equals(device: BusDevice, attached: Sequence[BusDevice]) -> list[BusDevice]:
    kind = (device.vendor, device.product)
    return [one for one in attached if (one.vendor, one.product) == kind]


def _another_keyboard(device: BusDevice, attached: Sequence[BusDevice]) -> bool:
    return any(one is not device and one.is_users_keyboard for one in attached)


def _absent(kind: Sequence[BusDevice], attached: Sequence[BusDevice]) -> str:
    if kind:
        return (
            "no such device is attached, but others of its kind are: "
            f"{_listed(kind, attached)}. Plug the gauge in, or use one of these names"
        )
    return "no such device is attached. Plug it in; `jbridge ports` shows what is there"


def _listed(devices: Sequence[BusDevice], attached: Sequence[BusDevice]) -> str:
    return "; ".join(_described(one, attached) for one in devices)


def _described(device: BusDevice, attached: Sequence[BusDevice]) -> str:
    where = f", in socket {device.socket}" if device.socket else ""
    return f"{identity(device, attached).text} ({device.title or 'no product name'}{where})"
