"""Gauges as real USB devices of a Linux kernel: gadgets on its dummy host controller.

Needs root, configfs and the modules dummy_hcd, libcomposite, usb_f_acm and usb_f_hid: a virtual
machine made for it. What is plugged in here, the same kernel finds as an attached device.
Source: the kernel's Documentation/usb/gadget_configfs.rst, gadget_hid.rst, gadget_serial.rst.
"""

import contextlib
import os
import select
from pathlib import Path
from types import TracebackType
from typing import NamedTuple, Self

from simulator.errors import SimulatorError
from simulator.keystrokes import typed
from simulator.terminal import opened_raw

GADGETS = Path("/sys/kernel/config/usb_gadget")
SOCKETS = tuple(f"dummy_udc.{number}" for number in range(4))
"""The places to plug into, with `modprobe dummy_hcd num=4`; each is a bus of its own."""

_TAKEN_WITHIN_S = 5.0
_NONBLOCK: int = getattr(os, "O_NONBLOCK", 0)
_ENGLISH = "strings/0x409"

KEYBOARD_REPORTS = bytes.fromhex(
    "0501 0906 a101"  # generic desktop, keyboard, application
    "0507 19e0 29e7 1500 2501 7501 9508 8102"  # eight modifier keys, one bit each
    "9501 7508 8101"  # a byte that means nothing
    "9505 7501 0508 1901 2905 9102"  # five lamps
    "9501 7503 9101"  # and three bits to fill their byte
    "9506 7508 1500 2565 0507 1900 2965 8100"  # six keys held at once
    "c0"
)
"""The report descriptor of a boot keyboard. Source: USB HID 1.11, appendix B.1 and E.6."""


class Descriptor(NamedTuple):
    """What a device says of itself. An empty serial number means that it has none."""

    vendor: int
    product: int
    serial: str = ""
    title: str = "Gauge"
    maker: str = "Simulator"


class Gadget:
    """One USB device, made but not plugged in. `name` must be its own; use as a context manager."""

    kind = ""

    def __init__(self, name: str, says: Descriptor, folder: Path = GADGETS) -> None:
        self.says = says
        self._folder = folder / name
        self._function = self._folder / "functions" / f"{self.kind}.{name}"
        self._config = self._folder / "configs" / "c.1"
        self._made()

    def _made(self) -> None:
        self._folder.mkdir()
        (self._folder / "idVendor").write_text(f"{self.says.vendor:#06x}")
        (self._folder / "idProduct").write_text(f"{self.says.product:#06x}")
        texts = self._folder / _ENGLISH
        texts.mkdir()
        if self.says.serial:
            (texts / "serialnumber").write_text(self.says.serial)
        (texts / "manufacturer").write_text(self.says.maker)
        (texts / "product").write_text(self.says.title)
        self._function.mkdir()
        self._set_up()
        self._config.mkdir()
        (self._config / self._function.name).symlink_to(self._function)

    def _set_up(self) -> None:
        """What this kind of function needs before it is linked."""

    def plug(self, socket: str = SOCKETS[0]) -> None:
        """Plug it in; the system notices a little later."""
        (self._folder / "UDC").write_text(socket)

    def unplug(self) -> None:
        """Pull the cable; a second time does nothing."""
        with contextlib.suppress(OSError):  # ENODEV: it was not plugged in
            (self._folder / "UDC").write_text("\n")

    def remove(self) -> None:
        """Unplug it and take it away for good; a second time does nothing."""
        self.unplug()
        if not self._folder.exists():
            return
        (self._config / self._function.name).unlink()
        for part in (self._config, self._function, self._folder / _ENGLISH, self._folder):
            part.rmdir()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.remove()


class SerialGadget(Gadget):
    """A gauge with a virtual COM port (CDC-ACM)."""

    kind = "acm"
    _line = -1

    def send(self, text: str) -> None:
        """Send it as it is: end marks are part of it. Somebody must read it in the long run."""
        _write(self._opened(), text.encode("latin-1"))

    def received(self, timeout_s: float = _TAKEN_WITHIN_S) -> bytes:
        """What came in so far, at most 4096 bytes; b"" after a silence so long."""
        line = self._opened()
        readable, _, _ = select.select([line], [], [], timeout_s)
        return os.read(line, 4096) if readable else b""

    def _opened(self) -> int:
        if self._line < 0:
            number = (self._function / "port_num").read_text().strip()
            self._line = opened_raw(f"/dev/ttyGS{number}")
        return self._line

    def unplug(self) -> None:
        """Pull the cable; what was not sent yet is lost."""
        super().unplug()
        if self._line >= 0:
            os.close(self._line)
            self._line = -1


class KeyboardGadget(Gadget):
    """A gauge that types: a boot keyboard, one interface."""

    kind = "hid"

    def _set_up(self) -> None:
        (self._function / "subclass").write_text("1")
        (self._function / "protocol").write_text("1")
        (self._function / "report_length").write_text("8")
        (self._function / "report_desc").write_bytes(KEYBOARD_REPORTS)

    def send(self, text: str) -> None:
        """Type it on a US keyboard; "\\n" is Enter. Raises SimulatorError if nobody takes it."""
        self.report(*typed(text))

    def report(self, *reports: bytes) -> None:
        """Send raw reports, 8 bytes each."""
        number = (self._function / "dev").read_text().strip().partition(":")[2]
        descriptor = os.open(f"/dev/hidg{number}", os.O_RDWR | _NONBLOCK)
        try:
            for one in reports:
                _write(descriptor, one)
        finally:
            os.close(descriptor)


def _write(descriptor: int, data: bytes) -> None:
    left = memoryview(data)
    while left:
        _wait_until_taken(descriptor)
        left = left[os.write(descriptor, left) :]


def _wait_until_taken(descriptor: int) -> None:
    writable = select.select([], [descriptor], [], _TAKEN_WITHIN_S)[1]
    if not writable:
        raise SimulatorError("nobody takes what the gauge sends: is it plugged in and read?")
