"""Who is let in: so many connections in all and of one host, and so many looked at in a second.

A connection over a bound is refused before anything is made for it. A host that opens them faster
than they are refused waits in the system's queue, and then outside of it: what a crowd costs has a
bound, however large it is.
"""

import asyncio
import socket
import struct
from collections.abc import Callable, Iterable
from contextlib import suppress

MOST_CONNECTIONS, MOST_OF_ONE = 100, 30
AT_ONCE, PAUSE_S = 16, 0.02
"""So many are looked at, then it pauses."""

RETRY_S = 1.0
"""Where the system has no room for one more connection."""
# All bounds are chosen by us: a shop has a handful of viewers, each with a few connections.

_RESET = struct.pack("ii", 1, 0)
"""Closed at once, and nothing is kept of it. Source: socket(7), SO_LINGER."""


class Door:
    """Takes connections in from a listening socket until it is closed. `hosts` tells from where
    those come that are in.
    """

    def __init__(
        self,
        listening: socket.socket,
        protocol: Callable[[], asyncio.Protocol],
        hosts: Callable[[], Iterable[str]],
    ) -> None:
        self._listening, self._protocol, self._hosts = listening, protocol, hosts
        listening.setblocking(False)
        self._task = asyncio.get_running_loop().create_task(self._run())

    def close(self) -> None:
        """Nobody else."""
        self._task.cancel()
        self._listening.close()

    async def _run(self) -> None:
        while True:
            for _ in range(AT_ONCE):
                await self._next()
            await asyncio.sleep(PAUSE_S)

    async def _next(self) -> None:
        loop = asyncio.get_running_loop()
        try:
            sock, address = await loop.sock_accept(self._listening)
        except ConnectionAbortedError:  # gone before it was its turn
            return
        except OSError:
            await asyncio.sleep(RETRY_S)
            return
        if not lets_in(str(address[0]), list(self._hosts())):
            refuse(sock)
            return
        try:
            await loop.connect_accepted_socket(self._protocol, sock)
        except OSError:  # gone meanwhile
            sock.close()


def lets_in(host: str, others: list[str]) -> bool:
    """There is room for one of this host beside those that are in."""
    return len(others) < MOST_CONNECTIONS and others.count(host) < MOST_OF_ONE


def refuse(sock: socket.socket) -> None:
    """Reset it."""
    with suppress(OSError):
        sock.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, _RESET)
    sock.close()
