"""Bytes of stdin for a thread that another one can stop, as far as the system lets it.

The descriptor is read directly: a thread that sat in Python's buffered stdin could not be ended,
and would bring the interpreter down at its exit.
"""

import os
import select
import sys
import threading
from typing import Protocol

READ_BYTES = 4096


class InputBytes(Protocol):
    """What one thread reads until another says stop."""

    def read(self) -> bytes | None:
        """Bytes as soon as there are any; b"" at the end of input, None when stopped."""
        ...

    def stop(self) -> None:
        """End the reading."""
        ...


class WaitedBytes:
    """POSIX, where any descriptor can be waited for: a stop pipe ends a waiting `read`."""

    def __init__(self, fd: int) -> None:
        self._fd = fd
        self._stop_read, self._stop_write = os.pipe()

    def read(self) -> bytes | None:
        """As InputBytes."""
        ready, _, _ = select.select([self._fd, self._stop_read], [], [])
        if self._stop_read in ready:
            return None
        try:
            return os.read(self._fd, READ_BYTES)
        except OSError:
            return b""  # the terminal is gone

    def stop(self) -> None:
        """As InputBytes."""
        os.write(self._stop_write, b"s")


class BlockingBytes:
    """Elsewhere: a `read` waits until something comes, also after `stop`; what comes then is
    nobody's. Its thread must be a daemon, so that the program's end does not wait for it.
    """

    def __init__(self, fd: int) -> None:
        # Unbuffered, so no lock is held while it waits; of a Windows console this gives UTF-8.
        self._raw = open(fd, "rb", buffering=0, closefd=False)  # noqa: SIM115 - never closed
        self._is_stopped = threading.Event()

    def read(self) -> bytes | None:
        """As InputBytes."""
        try:
            data = self._raw.read(READ_BYTES) or b""
        except OSError:
            data = b""  # the console is gone
        return None if self._is_stopped.is_set() else data

    def stop(self) -> None:
        """As InputBytes, from the next byte on."""
        self._is_stopped.set()


def stdin_bytes() -> InputBytes:
    """stdin, as this system can read it."""
    fd = sys.stdin.fileno()
    # Where there is no poll, select waits for sockets only.
    return WaitedBytes(fd) if hasattr(select, "poll") else BlockingBytes(fd)
