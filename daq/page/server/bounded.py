"""HTTP with bounds: how long a request, or a viewer that does not read, may take. What is over a
bound is closed at once.
"""

import asyncio
import socket
from contextlib import suppress
from typing import Any

import h11
from uvicorn.config import Config
from uvicorn.protocols.http.h11_impl import H11Protocol
from uvicorn.server import ServerState

REQUEST_S = 5.0
"""From the first byte (the first request: from the opening) to the whole request."""

UNREAD_S = 20.0
"""How long a viewer may leave what was sent unread."""

LINGER_S = 2.0
"""How long a closed connection may take to take the rest."""

KEEP_ALIVE_S = 5
# All bounds are chosen by us.


class BoundedProtocol(H11Protocol):
    """One connection."""

    def __init__(
        self,
        config: Config,
        server_state: ServerState,
        app_state: dict[str, Any],
        _loop: asyncio.AbstractEventLoop | None = None,
    ) -> None:
        super().__init__(config, server_state, app_state, _loop)
        self._late: asyncio.TimerHandle | None = None
        self._unread: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Its first request is waited for."""
        super().connection_made(transport)
        _give_up_on_the_dead(transport)
        self._begin_waiting()

    @property
    def host(self) -> str:
        """Who it is; empty where the system does not tell."""
        return self.client[0] if self.client else ""

    def connection_lost(self, exc: Exception | None) -> None:
        """Nothing is waited for any more."""
        self._end_waiting()
        self._end_unread()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """A request has begun, or goes on."""
        self._begin_waiting()
        super().data_received(data)
        if self.conn.their_state not in (h11.IDLE, h11.SEND_BODY):
            self._end_waiting()

    def on_response_complete(self) -> None:
        """The next request may wait in what was read already."""
        super().on_response_complete()
        if self.transport.is_closing():
            self.loop.call_later(LINGER_S, self.transport.abort)

    def timeout_keep_alive_handler(self) -> None:
        """Closed in any case, also where a part of a request is there."""
        self.transport.abort()

    def send_400_response(self, msg: str) -> None:
        """Closed in any case, also where an answer has begun."""
        if self.conn.our_state in (h11.IDLE, h11.SEND_RESPONSE):
            super().send_400_response(msg)
            self.loop.call_later(LINGER_S, self.transport.abort)
        else:
            self.transport.abort()

    def pause_writing(self) -> None:
        """The viewer does not read."""
        super().pause_writing()
        if self._unread is None:
            self._unread = self.loop.call_later(UNREAD_S, self.transport.abort)

    def resume_writing(self) -> None:
        """It reads again."""
        self._end_unread()
        super().resume_writing()

    def _begin_waiting(self) -> None:
        if self._late is None:
            self._late = self.loop.call_later(REQUEST_S, self.transport.abort)

    def _end_waiting(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None

    def _end_unread(self) -> None:
        if self._unread is not None:
            self._unread.cancel()
            self._unread = None


def _give_up_on_the_dead(transport: asyncio.Transport) -> None:
    """What a phone that left the network was sent is acknowledged by nobody, and so little of it
    that no buffer fills: the system ends that connection after UNREAD_S. Source: RFC 5482.
    """
    number = getattr(socket, "TCP_USER_TIMEOUT", None)  # Linux has it
    sock = transport.get_extra_info("socket")
    if number is not None and sock is not None:
        with suppress(OSError):
            sock.setsockopt(socket.IPPROTO_TCP, number, round(UNREAD_S * 1000))
