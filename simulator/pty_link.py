"""A gauge on a pseudo-terminal."""

from __future__ import annotations

import os
import time
from pathlib import Path
from types import TracebackType
from typing import Self

from simulator.errors import LinkError
from simulator.terminal import pseudo_terminal
from simulator.waiting import CHUNK, SEND_TIMEOUT_S, WRITABLE, ready, stuck, wait_readable


class PtyLink:
    """A pseudo-terminal that looks to its reader like a serial port.

    link_path, when given, is a symbolic link made to the port and removed again; a link that was
    left pointing to a terminal that is gone is replaced. Bytes wait in the system until a reader
    opens the port. Raises LinkError when no terminal is to be had or link_path is in use.
    """

    def __init__(
        self, link_path: Path | None = None, *, send_timeout_s: float = SEND_TIMEOUT_S
    ) -> None:
        self._open = False
        self._closed = False
        self._send_timeout_s = send_timeout_s
        self._link_path: Path | None = None
        self._lay(link_path)

    def _lay(self, link_path: Path | None) -> None:
        """Take a new terminal, and make the link to it if there is to be one."""
        self._master, self._slave, self._port = pseudo_terminal()
        # The slave stays open here as well: without any reader the master would report an error.
        self._open = True
        try:
            if link_path is not None:
                _make_link(link_path, self._port)
                self._link_path = link_path
        except BaseException:
            self.unplug()
            raise

    @property
    def port(self) -> str:
        """Path of the terminal a reader opens."""
        return self._port

    def send(self, data: bytes) -> bool:
        """Send all the bytes; False, and nothing sent, once unplugged.

        Raises LinkError when closed, or when the reader leaves no room for too long.
        """
        if self._closed:
            raise LinkError("this link is closed")
        if not self._open:
            return False
        deadline_s = time.monotonic() + self._send_timeout_s
        sent = 0
        while sent < len(data):
            if not ready(self._master, WRITABLE, deadline_s):
                raise LinkError(stuck(self._port, sent, len(data)))
            try:
                sent += os.write(self._master, data[sent:])
            except BlockingIOError:
                continue
            except OSError as error:
                raise LinkError(f"{self._port}: {error}") from error
        return True

    def receive(self, timeout_s: float, wake: int | None = None) -> bytes:
        """What the reader has written to the gauge; empty when nothing came in time.

        Empty too once the descriptor wake can be read. Raises LinkError when unplugged or closed.
        """
        if not self._open:
            raise LinkError("nothing can be received: this link is unplugged")
        wait_readable(timeout_s, self._master, wake)
        try:
            return os.read(self._master, CHUNK)
        except BlockingIOError:
            return b""
        except OSError as error:
            raise LinkError(f"{self._port}: {error}") from error

    @property
    def is_plugged(self) -> bool:
        """The cable is in."""
        return self._open

    def replug(self, link_path: Path | None = None) -> None:
        """Plug it in again, unplugged first if need be: a new terminal with a name of its own.

        The link is made where it was, or at link_path. Raises LinkError as making one does, and
        when closed; it stays unplugged then.
        """
        if self._closed:
            raise LinkError("this link is closed")
        self.unplug()
        self._lay(link_path or self._link_path)

    def unplug(self) -> None:
        """Pull the cable: the reader sees a hang-up and the port is gone."""
        if not self._open:
            return
        self._open = False
        if self._link_path is not None:
            _remove_link(self._link_path, self._port)
        os.close(self._slave)
        os.close(self._master)

    def close(self) -> None:
        """Give the terminal back; harmless when done twice."""
        self.unplug()
        self._closed = True

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


_DEVICES = "/dev/"
"""Where every link that a simulator leaves points."""


def _make_link(path: Path, target: str) -> None:
    """Make a symbolic link, over one that an ended simulator left; LinkError if it cannot be."""
    try:
        if path.is_symlink() and not path.exists() and os.readlink(path).startswith(_DEVICES):
            path.unlink()
        path.symlink_to(target)
    except OSError as error:
        raise LinkError(f"cannot make the link {path}: {error}") from error


def _remove_link(path: Path, target: str) -> None:
    """Remove our symbolic link, but not what somebody else has put in its place since."""
    try:
        if path.is_symlink() and os.readlink(path) == target:
            path.unlink()
    except OSError:
        # Gone already, or its directory is: nothing is left to tidy.
        return
