"""The server's process: the first line, the socket, the loop, and its end."""

import asyncio
import logging
import os
import signal
import socket
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import BinaryIO

import msgspec
import uvicorn

from daq.page.address import Secrets
from daq.page.messages import (
    FromServer,
    Hello,
    PageOver,
    PageReady,
    ToServer,
    line_of,
    to_server,
)
from daq.page.server.access import PageGate
from daq.page.server.app import MOST_HEADER, Application
from daq.page.server.bounded import KEEP_ALIVE_S, BoundedProtocol
from daq.page.server.door import Door
from daq.page.server.hub import Hub
from daq.page.server.page import Pages
from daq.sounds.speech import spoken

TICK_S = 10.0
"""How often a viewer hears that this is alive; a page that hears nothing for longer than two of
these says that it is stale."""

LAST_S = 0.8
"""How long the end waits for viewers to have got it."""

ANSWERED_S = 0.05
"""How long the last press waits for its answer to be on its way."""

MOST_AHEAD = 8
"""Messages that are read before they are taken in."""


class PageServer(uvicorn.Server):
    """Waits for its end instead of looking for it ten times a second."""

    def __init__(self, config: uvicorn.Config) -> None:
        super().__init__(config)
        self.ended = asyncio.Event()
        self._doors: list[Door] = []

    async def main_loop(self) -> None:
        """Until it is ended."""
        await self.on_tick(0)
        await self.ended.wait()

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Open the doors."""
        assert sockets is not None
        await self.lifespan.startup()
        state = self.server_state

        def protocol() -> BoundedProtocol:
            return BoundedProtocol(self.config, state, self.lifespan.state)

        def hosts() -> list[str]:
            return [each.host for each in state.connections if isinstance(each, BoundedProtocol)]

        self._doors = [Door(sock, protocol, hosts) for sock in sockets]
        self.started = True

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Viewers were told before."""
        for door in self._doors:
            door.close()

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        """The measuring process says when it is over."""
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        yield


def serve(lines: BinaryIO, out: BinaryIO) -> None:
    """Until `lines` end, or say that it is over."""
    logging.disable()  # secrets stand in paths
    _give_way()
    hello = to_server(lines.readline())
    assert isinstance(hello, Hello)
    if sys.platform == "win32":
        sock = socket.fromshare(hello.share)
    else:
        sock = socket.socket(fileno=hello.descriptor)
    asyncio.run(_serve(hello, sock, lines, out))


def _give_way() -> None:
    """Whoever looks waits rather than whoever measures: a processor that does nothing but this is
    taken for a free one. Source: sched(7), SCHED_IDLE.
    """
    if sys.platform != "win32":
        os.nice(5)
    if sys.platform == "linux":
        with suppress(OSError):  # not every libc and every container has it
            os.sched_setscheduler(0, os.SCHED_IDLE, os.sched_param(0))


async def _serve(hello: Hello, sock: socket.socket, lines: BinaryIO, out: BinaryIO) -> None:
    def send(message: FromServer) -> None:
        out.write(line_of(message))
        out.flush()

    loop = asyncio.get_running_loop()
    pages = Pages(hello.layout, is_speaking=hello.is_speaking)
    hub = Hub(pages.parts, pages.drawings, send, time.monotonic, loop.call_later, spoken)
    gate = PageGate(Secrets(hello.look, hello.press), hello.netloc)
    server = PageServer(
        uvicorn.Config(
            Application(gate, hub, pages.page),
            http=BoundedProtocol,
            loop="asyncio",
            ws="none",
            lifespan="off",
            log_config=None,
            access_log=False,
            server_header=False,
            date_header=False,
            proxy_headers=False,
            timeout_keep_alive=KEEP_ALIVE_S,
            h11_max_incomplete_event_size=MOST_HEADER,
        )
    )
    ending: set[asyncio.Task[None]] = set()

    def take(message: ToServer | None) -> None:
        if message is None:
            server.ended.set()
            return
        hub.take(message)
        if isinstance(message, PageOver):
            ending.add(loop.create_task(_end(hub, server)))

    reader = threading.Thread(target=_read, args=(lines, loop, take), name="lines", daemon=True)
    reader.start()
    ticking = loop.create_task(_tick(hub))
    send(PageReady())
    await server.serve([sock])
    ticking.cancel()


def _read(
    lines: BinaryIO, loop: asyncio.AbstractEventLoop, take: Callable[[ToServer | None], None]
) -> None:
    """A thread of its own, as not every system lets a loop wait for a pipe."""
    ahead = threading.Semaphore(MOST_AHEAD)

    def taken(message: ToServer | None) -> None:
        ahead.release()
        take(message)

    with suppress(RuntimeError):  # the loop has ended meanwhile
        for line in lines:
            ahead.acquire()
            try:
                message = to_server(line)
            except msgspec.MsgspecError:
                break
            loop.call_soon_threadsafe(taken, message)
        loop.call_soon_threadsafe(take, None)


async def _tick(hub: Hub) -> None:
    while True:
        await asyncio.sleep(TICK_S)
        if hub.has_viewers:
            hub.tick()


async def _end(hub: Hub, server: PageServer) -> None:
    """Viewers get the last of it, those who do not read excepted."""
    if hub.has_viewers:
        with suppress(TimeoutError):
            await asyncio.wait_for(hub.gone.wait(), LAST_S)
    await asyncio.sleep(ANSWERED_S)
    server.ended.set()
