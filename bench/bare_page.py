"""`python -m bench.bare_page PORT`: the least page that shows what a gauge sends.

The same web library and server as the page at the bench; it checks, stores and draws nothing. It
prints its address.
"""

import asyncio
import os
import sys
from collections.abc import AsyncIterator

import uvicorn
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response, StreamingResponse
from starlette.types import Receive, Scope, Send

PAGE = """<!doctype html><title>bare</title><p id="value"></p><script>
new EventSource("events").onmessage = (event) => {
  document.getElementById("value").textContent = event.data;
};
</script>"""


class Bare:
    """One gauge and its viewers."""

    def __init__(self, fd: int) -> None:
        self._fd = fd
        self._viewers: set[asyncio.Queue[bytes]] = set()

    def read(self) -> None:
        """A line came."""
        data = os.read(self._fd, 4096).strip()
        for viewer in self._viewers:
            viewer.put_nowait(data)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        answer: Response = HTMLResponse(PAGE)
        if Request(scope, receive).url.path == "/events":
            answer = StreamingResponse(self._stream(), media_type="text/event-stream")
        await answer(scope, receive, send)

    async def _stream(self) -> AsyncIterator[bytes]:
        mine: asyncio.Queue[bytes] = asyncio.Queue()
        self._viewers.add(mine)
        yield b": here\n\n"
        while True:
            yield b"data: " + await mine.get() + b"\n\n"


async def _serve(port: str) -> None:
    fd = os.open(port, os.O_RDONLY | os.O_NOCTTY)
    bare = Bare(fd)
    asyncio.get_running_loop().add_reader(fd, bare.read)
    config = uvicorn.Config(bare, port=0, http="h11", ws="none", lifespan="off", log_config=None)
    server = uvicorn.Server(config)
    sock = config.bind_socket()
    print(f"http://127.0.0.1:{sock.getsockname()[1]}/", flush=True)
    await server.serve([sock])


if __name__ == "__main__":
    asyncio.run(_serve(sys.argv[1]))
