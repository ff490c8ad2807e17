"""`python -m bench.page_clients KIND LINK`: viewers that are a burden, until it is killed.

usual: one that reads. slow: takes a byte ten times a second. dead: asks for everything and never
reads. hostile: a thousand connections, opened again as fast as they are closed; a half of them ask
for the stream and never read, the others send a request that does not end. busy: connects nowhere,
and takes as much of one processor as the hostile ones, which have it from this machine only here.
"""

import asyncio
import os
import socket
import sys
from contextlib import suppress
from urllib.parse import urlsplit

CONNECTIONS = 1000
AGAIN_S = 0.05


class Client:
    """A socket that is opened again and again."""

    def __init__(self, link: str) -> None:
        parts = urlsplit(link)
        self._address = (parts.hostname or "", parts.port or 80)
        self._asked = f"GET {parts.path}events HTTP/1.1\r\nHost: {parts.netloc}\r\n\r\n".encode()

    async def _opened(self) -> socket.socket:
        sock = socket.socket()
        sock.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        sock.setblocking(False)
        await asyncio.get_running_loop().sock_connect(sock, self._address)
        return sock

    async def run(self, *, ends: bool, most: int = 0) -> None:
        """For ever: open, ask (a request that ends or not), read so many bytes at once or none."""
        loop = asyncio.get_running_loop()
        while True:
            with suppress(OSError):
                sock = await self._opened()
                with sock:
                    await loop.sock_sendall(sock, self._asked if ends else self._asked[:-2])
                    while True:
                        if most:
                            if not await loop.sock_recv(sock, most):
                                break
                            await asyncio.sleep(0 if most > 1 else 0.1)
                        elif await _is_closed(sock):
                            break
            await asyncio.sleep(AGAIN_S)


async def _is_closed(sock: socket.socket) -> bool:
    """Look without taking anything out."""
    await asyncio.sleep(0.25)
    try:
        return not sock.recv(1, socket.MSG_PEEK)
    except BlockingIOError:
        return False


async def _run(kind: str, link: str) -> None:
    client = Client(link)
    if kind in ("busy", "hostile"):
        os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
    match kind:
        case "busy":
            while True:
                pass
        case "usual":
            all_of = [client.run(ends=True, most=65536)]
        case "slow":
            all_of = [client.run(ends=True, most=1)]
        case "dead":
            all_of = [client.run(ends=True)]
        case _:
            halves = range(CONNECTIONS)
            all_of = [client.run(ends=bool(number % 2)) for number in halves]
    await asyncio.gather(*all_of)


if __name__ == "__main__":
    os.nice(19)  # they stand for other machines, which take no processor of this one
    asyncio.run(_run(sys.argv[1], sys.argv[2]))
