"""USB devices and serial ports as the system knows them, before anything is judged."""

import msgspec


class UsbInterface(msgspec.Struct, frozen=True):
    """One interface of a USB device: its number (two hexadecimal digits), class, subclass and
    protocol (likewise), the driver that has it ("" if none), and whether it types like a keyboard.
    """

    number: str
    kind: tuple[str, str, str]
    driver: str = ""
    is_keyboard: bool = False


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


class Tree(msgspec.Struct, frozen=True):
    """All of it, sorted by name."""

    units: tuple[UsbDevice, ...] = ()
    ttys: tuple[Tty, ...] = ()

    def unit(self, socket: str | None) -> UsbDevice | None:
        """The device in this socket."""
        return next((unit for unit in self.units if unit.socket == socket), None)
