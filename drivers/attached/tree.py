"""USB devices and serial ports as the system knows them, and keyboards from elsewhere,
before anything is judged."""

import msgspec

BOOT_KEYBOARD = ("03", "01", "01")
"""Class, subclass and protocol. Source: HID 1.11, 4.1 to 4.3 (from memory)."""


class UsbInterface(msgspec.Struct, frozen=True):
    """One interface of a USB device: its number (two hexadecimal digits), class, subclass and
    protocol (likewise), the driver that has it ("" if none), and whether it types like a keyboard.
    `is_boot_form`: by its own description its keys come as a boot keyboard's do; None if it
    does not show one.
    """

    number: str
    kind: tuple[str, str, str]
    driver: str = ""
    is_keyboard: bool = False
    is_boot_form: bool | None = None


class UsbDevice(msgspec.Struct, frozen=True, kw_only=True):
    """One attached USB device. `socket` is bus and ports like 1-2.3; all texts are the device's own
    and may hold anything. `power` is the system's setting: "on" never sleeps, "auto" may.
    `connected_ms` says since when it has been plugged in, None where the system does not.
    """

    socket: str
    vendor: str
    product: str
    serial: str | None = None
    maker: str = ""
    title: str = ""
    node: str = ""
    number: str = ""
    power: str = ""
    connected_ms: int | None = None
    interfaces: tuple[UsbInterface, ...] = ()


class Tty(msgspec.Struct, frozen=True, kw_only=True):
    """One serial port: its node, and the USB device, interface and line behind it if it has one.

    `latency_ms` is how long a USB adapter holds back small packets, None if it has no such timer.
    """

    node: str
    socket: str | None = None
    interface: str = ""
    line: int = 0
    latency_ms: int | None = None


class OtherKeyboard(msgspec.Struct, frozen=True, kw_only=True):
    """A keyboard that is not on USB: its name, how it is connected ("Bluetooth"), its ids as the
    system shows them (bus:vendor:product), and its number, which changes with each connecting.
    """

    title: str
    by: str
    ids: str
    number: str = ""


class Tree(msgspec.Struct, frozen=True):
    """All of it, sorted by name."""

    units: tuple[UsbDevice, ...] = ()
    ttys: tuple[Tty, ...] = ()
    others: tuple[OtherKeyboard, ...] = ()

    def unit(self, socket: str | None) -> UsbDevice | None:
        """The device in this socket."""
        return next((unit for unit in self.units if unit.socket == socket), None)
