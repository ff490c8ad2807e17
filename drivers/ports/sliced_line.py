"""The portable side: pyserial's own reading, in slices, with a flag that ends the wait.

What pyserial can end early ends at once; else a wake-up takes effect with the next slice.
"""

import contextlib
import queue
import threading
import time
from typing import Protocol, runtime_checkable

import serial
from serial.serialutil import SerialTimeoutException

from drivers.ports.line import FAILURES, READ_BYTES, SLICE_S, NotTaken


@runtime_checkable
class Taking(Protocol):
    """A device that waits as long as it is told."""

    def take(self, wait_s: float) -> bytes:
        """What is there, at most READ_BYTES; else what comes first, waiting so long; b"" for
        silence. Raises Ended.
        """
        ...


class SlicedLine:
    """A line by what every pyserial port offers."""

    def __init__(self, device: serial.SerialBase) -> None:
        self._device = device
        self._woken = threading.Event()

    def read(self, timeout_s: float | None) -> bytes:
        """Bytes as soon as there are any; b"" means silence so far, or a wake-up."""
        until = None if timeout_s is None else time.monotonic() + timeout_s
        while True:
            if self._woken.is_set():
                self._woken.clear()
                return b""
            left_s = SLICE_S if until is None else until - time.monotonic()
            data = self._slice(max(0.0, min(SLICE_S, left_s)))
            if data or (until is not None and time.monotonic() >= until):
                return data

    def _slice(self, wait_s: float) -> bytes:
        device = self._device
        if isinstance(device, Taking):
            return device.take(wait_s)
        if device.timeout != wait_s:
            device.timeout = wait_s
        data = bytes(device.read(1))
        waiting = int(getattr(device, "in_waiting", 0)) if data else 0
        return data + bytes(device.read(min(waiting, READ_BYTES))) if waiting else data

    def write(self, data: bytes, timeout_s: float) -> None:
        """Send all of `data`; how long that may take the device was told when it was opened."""
        try:
            self._device.write(data)
        except SerialTimeoutException as error:
            raise NotTaken from error
        except FAILURES as error:
            if isinstance(error.__context__, TimeoutError):
                raise NotTaken from error
            raise

    def wake(self) -> None:
        """End a waiting `read` early."""
        self._woken.set()
        cancel = getattr(self._device, "cancel_read", None)
        if cancel is not None:
            with contextlib.suppress(*FAILURES, AttributeError, queue.Full):
                cancel()

    def close(self) -> None:
        """Nothing was taken."""
