"""A gauge behind a serial-to-network converter."""

from __future__ import annotations

import socket
import time
from pathlib import Path
from types import TracebackType
from typing import Self

from simulator.errors import LinkError
from simulator.waiting import (
    CHUNK,
    READABLE,
    SEND_TIMEOUT_S,
    WRITABLE,
    ready,
    stuck,
    wait_readable,
)

CHUNKS_AT_ONCE = 64
HIGHEST_PORT = 65535


class TcpLink:
    """A gauge behind a serial-to-network converter: one client at a time hears it.

    A newly connected client takes the place of the old one. Clients are let in when something is
    sent or waited for, so no thread is needed. What a client says is kept until it is received, up
    to 4096 bytes; the rest is thrown away. Port 0 takes any free one. Raises LinkError when the
    address cannot be listened on.
    """

    def __init__(
        self, host: str = "127.0.0.1", port: int = 0, *, send_timeout_s: float = SEND_TIMEOUT_S
    ) -> None:
        self._send_timeout_s = send_timeout_s
        self._client: socket.socket | None = None
        self._heard = b""
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
            ready(self._listener.fileno(), READABLE, time.monotonic() + timeout_s)
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
            if not ready(self._client.fileno(), WRITABLE, deadline_s):
                self._drop()
                raise LinkError(stuck(self._port, sent, len(data)))
            try:
                sent += self._client.send(data[sent:])
            except BlockingIOError:
                continue
            except OSError:
                self._drop()
                return False
        return True

    def receive(self, timeout_s: float, wake: int | None = None) -> bytes:
        """What the client has said; empty when nothing came in time or nobody is there.

        Empty too once the descriptor wake can be read, or somebody comes or goes. Raises LinkError
        when closed.
        """
        self._admit()
        if not self._heard:
            client = None if self._client is None else self._client.fileno()
            wait_readable(timeout_s, self._listener.fileno(), client, wake)
            self._admit()
        heard, self._heard = self._heard, b""
        return heard

    @property
    def is_plugged(self) -> bool:
        """It listens: whoever connects is heard, also after an unplugging."""
        return not self._closed

    def replug(self, link_path: Path | None = None) -> None:
        """Nothing, since a new client is let in anyway; LinkError for a path, it has none."""
        if link_path is not None:
            raise LinkError(f"{self._port} stays where it is: a path is for a terminal")

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
        if self._client is not None:
            heard, is_there = _said(self._client)
            self._heard = (self._heard + heard)[:CHUNK]
            if not is_there:
                self._drop()

    def _drop(self) -> None:
        """Hang up on the client, if any."""
        if self._client is not None:
            self._client.close()
            self._client = None
            self._heard = b""


def _said(client: socket.socket) -> tuple[bytes, bool]:
    """What the client has sent meanwhile, its beginning at least, and whether it is still there."""
    said = b""
    try:
        for _ in range(CHUNKS_AT_ONCE):
            chunk = client.recv(CHUNK)
            if not chunk:
                return said, False
            said = (said + chunk)[:CHUNK]
    except BlockingIOError:
        return said, True
    except OSError:
        return said, False
    # It is still talking, and faster than it can be listened to.
    return said, True
