"""The POSIX side: the descriptor is polled and read directly.

One poll and one read a burst, no ticking while idle, and a pipe to wake a waiting read.
"""

import sys

assert sys.platform != "win32"  # tells the type checker where this file does not belong
# ruff: noqa: E402 - what only POSIX has is imported behind that

import contextlib
import fcntl
import os
import termios
import time
from select import POLLERR, POLLHUP, POLLIN, POLLOUT, poll

from drivers.ports.line import FAILURES, READ_BYTES, Ended, NotTaken


class PolledLine:
    """A line by its descriptor. One that is a terminal is shut to later opens meanwhile, and its
    DTR stays up when it is closed.
    """

    def __init__(self, descriptor: int, *, is_terminal: bool) -> None:
        self._fd = descriptor
        self._is_terminal = is_terminal
        self._wake_read, self._wake_write = os.pipe()
        os.set_blocking(self._wake_read, False)
        os.set_blocking(self._wake_write, False)
        self._poll = poll()
        self._poll.register(descriptor, POLLIN)
        self._poll.register(self._wake_read, POLLIN)
        if is_terminal:
            _claim(descriptor, True)
            _keep_lines_up(descriptor)

    def read(self, timeout_s: float | None) -> bytes:
        """Bytes as soon as there are any; b"" means silence so far, or a wake-up."""
        is_readable = has_hung_up = False
        for fd, event in self._poll.poll(None if timeout_s is None else _millis(timeout_s)):
            if fd == self._wake_read:
                with contextlib.suppress(OSError):
                    os.read(self._wake_read, READ_BYTES)
            else:
                is_readable = True
                has_hung_up = bool(event & (POLLHUP | POLLERR))
        if not is_readable:
            return b""
        try:
            data = os.read(self._fd, READ_BYTES)
        except BlockingIOError:
            return b""  # another reader was faster; the next poll tells
        if not data:
            raise Ended(has_hung_up=has_hung_up)
        return data

    def write(self, data: bytes, timeout_s: float) -> None:
        """Send all of `data`, waiting at most so long."""
        deadline = time.monotonic() + timeout_s
        writable = poll()
        writable.register(self._fd, POLLOUT)
        left = memoryview(data)
        while left:
            wait_s = deadline - time.monotonic()
            if wait_s <= 0 or not writable.poll(_millis(wait_s)):
                raise NotTaken
            with contextlib.suppress(BlockingIOError):
                left = left[os.write(self._fd, left) :]

    def wake(self) -> None:
        """End a waiting `read` early."""
        with contextlib.suppress(OSError):
            os.write(self._wake_write, b"w")

    def close(self) -> None:
        """Close the pipe, and let others open the terminal again."""
        os.close(self._wake_read)
        os.close(self._wake_write)
        if self._is_terminal:
            _claim(self._fd, False)


def _claim(descriptor: int, is_claimed: bool) -> None:
    """Shut later opens out as well; the lock of pyserial's `exclusive` alone binds only the polite.

    The mark outlives a descriptor where the other end stays open (a pty), so it is taken back.
    """
    with contextlib.suppress(*FAILURES):
        fcntl.ioctl(descriptor, termios.TIOCEXCL if is_claimed else termios.TIOCNXCL)


def _keep_lines_up(descriptor: int) -> None:
    """Closing shall not drop DTR: a gauge that is fed by it would lose its zero at each opening."""
    with contextlib.suppress(*FAILURES):
        settings = termios.tcgetattr(descriptor)
        settings[2] &= ~termios.HUPCL
        termios.tcsetattr(descriptor, termios.TCSANOW, settings)


def _millis(seconds: float) -> int:
    return max(0, round(seconds * 1000))
