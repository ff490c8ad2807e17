"""The cable between the simulated gauge and whatever reads it."""

from __future__ import annotations

import os
import select
import socket
import time
import tty
from pathlib import Path
from types import TracebackType
from typing import Protocol, Self

from simulator.errors import LinkError

SEND_TIMEOUT_S = 2.0
CHUNK = 4096
CHUNKS_THROWN_AWAY = 64
HIGHEST_PORT = 65535


class Link(Protocol):
    """A cable a gauge can be heard through."""

    @property
    def port(self) -> str:
        """What a reader opens to listen."""
        ...

    def send(self, data: bytes) -> bool:
        """Send all the bytes; False when nothing is at the other end and they are lost."""
        ...

    def unplug(self) -> None:
        """Pull the cable: the reader sees a hang-up."""
        ...

    def close(self) -> None:
        """Give everything back; harmless when done twice."""
        ...


class PtyLink:
    """A pseudo-terminal that looks to its reader like a serial port.

    link_path, when given, is a symbolic link made to the port and removed again; a link left
    pointing nowhere is replaced. Bytes wait in the system until a reader opens the port. Raises
    LinkError when no terminal is to be had or link_path is in use.
    """

    def __init__(
        self, link_path: Path | None = None, *, send_timeout_s: float = SEND_TIMEOUT_S
    ) -> None:
        try:
            self._master, self._slave = os.openpty()
        except OSError as error:
            raise LinkError(f"no pseudo-terminal to be had: {error}") from error
        # The slave stays open here as well: without any reader the master would report an error.
        self._open = True
        self._closed = False
        self._send_timeout_s = send_timeout_s
        self._link_path: Path | None = None
        try:
            tty.setraw(self._slave)
            os.set_blocking(self._master, False)
            self._port = os.ttyname(self._slave)
            if link_path is not None:
                _make_link(link_path, self._port)
                self._link_path = link_path
        except BaseException:
            self.close()
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
            if not _ready(self._master, select.POLLOUT, deadline_s):
                raise LinkError(_stuck(self._port, sent, len(data)))
            try:
                sent += os.write(self._master, data[sent:])
            except BlockingIOError:
                continue
            except OSError as error:
                raise LinkError(f"{self._port}: {error}") from error
        return True

    def receive(self, timeout_s: float) -> bytes:
        """What the reader has written to the gauge; empty when nothing came in time.

        Raises LinkError when unplugged or closed.
        """
        if not self._open:
            raise LinkError("nothing can be received: this link is unplugged")
        if not _ready(self._master, select.POLLIN, time.monotonic() + timeout_s):
            return b""
        try:
            return os.read(self._master, CHUNK)
        except BlockingIOError:
            return b""
        except OSError as error:
            raise LinkError(f"{self._port}: {error}") from error

    def unplug(self) -> None:
        """Pull the cable: the reader sees a hang-up and the port is gone for good."""
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


class TcpLink:
    """A gauge behind a serial-to-network converter: one client at a time hears it.

    A newly connected client takes the place of the old one. Clients are let in when something is
    sent or waited for, so no thread is needed. What clients send is thrown away. Port 0 takes any
    free one. Raises LinkError when the address cannot be listened on.
    """

    def __init__(
        self, host: str = "127.0.0.1", port: int = 0, *, send_timeout_s: float = SEND_TIMEOUT_S
    ) -> None:
        self._send_timeout_s = send_timeout_s
        self._client: socket.socket | None = None
        self._closed = False
        if not 0 <= port <= HIGHEST_PORT:
            raise LinkError(f"cannot listen on port {port}: ports are 0 to {HIGHEST_PORT}")
        try:
            self._listener = socket.create_server((host, port))
        except OSError as error:
            raise LinkError(f"cannot listen on {host}:{port}: {error}") from error
        self._listener.setblocking(False)
        self._port = f"socket://{host}:{self._listener.getsockname()[1]}"

    @property
    def port(self) -> str:
        """The address a client connects to, ``socket://HOST:PORT``."""
        return self._port

    def wait_for_client(self, timeout_s: float) -> bool:
        """Whether a client is connected, waiting so many seconds for one at most.

        Raises LinkError when closed.
        """
        self._admit()
        if self._client is None:
            _ready(self._listener.fileno(), select.POLLIN, time.monotonic() + timeout_s)
            self._admit()
        return self._client is not None

    def send(self, data: bytes) -> bool:
        """Send all the bytes to the client; False when nobody is there and they are lost.

        Raises LinkError when closed, or when the client takes nothing for too long: that client
        is then dropped, as half a frame is all it has.
        """
        self._admit()
        if self._client is None:
            return False
        deadline_s = time.monotonic() + self._send_timeout_s
        sent = 0
        while sent < len(data):
            if not _ready(self._client.fileno(), select.POLLOUT, deadline_s):
                self._drop()
                raise LinkError(_stuck(self._port, sent, len(data)))
            try:
                sent += self._client.send(data[sent:])
            except BlockingIOError:
                continue
            except OSError:
                self._drop()
                return False
        return True

    def unplug(self) -> None:
        """Pull the cable: the client sees the end of the stream; a new one may connect later."""
        if not self._closed:
            self._admit()
        self._drop()

    def close(self) -> None:
        """Drop the client and stop listening; harmless when done twice."""
        if self._closed:
            return
        self.unplug()
        self._closed = True
        self._listener.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _admit(self) -> None:
        """Let in whoever knocks, the last one staying, and notice a client that has left."""
        if self._closed:
            raise LinkError("this link is closed")
        while True:
            try:
                client, _ = self._listener.accept()
            except BlockingIOError:
                break
            except ConnectionError:
                continue
            self._drop()
            client.setblocking(False)
            client.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            self._client = client
        if self._client is not None and _has_left(self._client):
            self._drop()

    def _drop(self) -> None:
        """Hang up on the client, if any."""
        if self._client is not None:
            self._client.close()
            self._client = None


def _has_left(client: socket.socket) -> bool:
    """Whether the client has closed its end; throws away what it has sent meanwhile."""
    try:
        for _ in range(CHUNKS_THROWN_AWAY):
            if not client.recv(CHUNK):
                return True
    except BlockingIOError:
        return False
    except OSError:
        return True
    # It is still talking, and faster than it can be ignored.
    return False


def _ready(descriptor: int, event: int, deadline_s: float) -> bool:
    """Whether the event, or an error to be met on use, comes before time.monotonic() says so."""
    poll = select.poll()
    poll.register(descriptor, event)
    left_ms = max(0.0, deadline_s - time.monotonic()) * 1000
    return bool(poll.poll(left_ms))


def _stuck(port: str, sent: int, total: int) -> str:
    """Words for a reader that does not read."""
    return f"{port}: the reader took {sent} of {total} bytes and then no more in time"


def _make_link(path: Path, target: str) -> None:
    """Make a symbolic link, over a dangling one if need be; LinkError when the place is taken."""
    try:
        if path.is_symlink() and not path.exists():
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
