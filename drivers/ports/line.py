"""Bytes of one device that pyserial has opened: how they are waited for is chosen here.

Where the system has descriptors that can be polled, they are polled; else pyserial's own reading
goes on in slices.
"""

import sys
from contextlib import suppress
from typing import Protocol

import serial
from serial.serialutil import SerialException

READ_BYTES = 4096
SLICE_S = 0.5
"""Longest wait of one read that nothing else can end: two wake-ups a second."""

TERMINAL_ERRORS: tuple[type[Exception], ...] = ()
"""What a terminal that refuses its settings raises, where there are terminals."""
if sys.platform != "win32":
    with suppress(ImportError):
        import termios

        TERMINAL_ERRORS = (termios.error,)

FAILURES: tuple[type[Exception], ...] = (SerialException, OSError, *TERMINAL_ERRORS)
"""What pyserial lets through; termios.error is neither an OSError nor a SerialException."""


class Ended(Exception):
    """There is nothing more to read. `has_hung_up`: the system says that the line is gone."""

    def __init__(self, *, has_hung_up: bool = False) -> None:
        self.has_hung_up = has_hung_up
        super().__init__("nothing more to read")


class NotTaken(Exception):
    """The other end did not take all bytes in time."""


class Line(Protocol):
    """Belongs to the thread that reads it, but for `wake`. `read` and `write` let FAILURES
    through.
    """

    def read(self, timeout_s: float | None) -> bytes:
        """Bytes as soon as there are any; b"" means silence so far, or a wake-up. None waits
        without end. Raises Ended.
        """
        ...

    def write(self, data: bytes, timeout_s: float) -> None:
        """Send all of `data`; raises NotTaken after so long."""
        ...

    def wake(self) -> None:
        """End a waiting `read` early; from any thread, until `close`."""
        ...

    def close(self) -> None:
        """Give back what was taken for the waiting; the device stays open. Once."""
        ...


def line_of(device: serial.SerialBase, *, is_terminal: bool) -> Line:
    """The best way to wait for this open device. `is_terminal`: a serial port of this machine, not
    an address.
    """
    descriptor = _descriptor(device)
    if sys.platform != "win32" and descriptor is not None:
        with suppress(ImportError):
            from drivers.ports.polled_line import PolledLine  # noqa: PLC0415 - POSIX only

            return PolledLine(descriptor, is_terminal=is_terminal)
    from drivers.ports.sliced_line import SlicedLine  # noqa: PLC0415 - the other side

    return SlicedLine(device)


def _descriptor(device: serial.SerialBase) -> int | None:
    try:
        descriptor = device.fileno()
    except (OSError, AttributeError, ValueError):  # io.UnsupportedOperation is an OSError
        return None
    return descriptor if isinstance(descriptor, int) and descriptor >= 0 else None
