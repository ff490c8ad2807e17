"""Requests to the application without a socket."""

import asyncio
from collections.abc import Sequence
from dataclasses import dataclass, field

from daq.page.server.app import Application

HOST = "127.0.0.1:8080"


@dataclass
class Answered:
    """What came back."""

    status: int = 0
    headers: dict[str, str] = field(default_factory=dict)
    body: bytes = b""

    @property
    def text(self) -> str:
        """As text."""
        return self.body.decode()


def ask(
    app: Application,
    method: str,
    path: str,
    *,
    headers: Sequence[tuple[str, str]] = (("host", HOST),),
    body: bytes = b"",
    most: int | None = None,
) -> Answered:
    """One request; of a stream what comes until `most` pieces are there."""
    found = Answered()
    pieces = 0
    chunks = [body[at : at + 1000] for at in range(0, len(body), 1000)] or [b""]

    async def run() -> None:
        gone = asyncio.Event()

        async def receive() -> dict[str, object]:
            if chunks:
                chunk = chunks.pop(0)
                return {"type": "http.request", "body": chunk, "more_body": bool(chunks)}
            await gone.wait()
            return {"type": "http.disconnect"}

        async def send(message: dict[str, object]) -> None:
            nonlocal pieces
            if message["type"] == "http.response.start":
                assert isinstance(message["status"], int)
                found.status = message["status"]
                raw = message["headers"]
                assert isinstance(raw, list)
                found.headers = {name.decode(): value.decode() for name, value in raw}
            else:
                piece = message.get("body", b"")
                assert isinstance(piece, bytes)
                found.body += piece
                pieces += bool(piece)
                if pieces == most:
                    gone.set()

        scope = {
            "type": "http",
            "asgi": {"version": "3.0", "spec_version": "2.3"},
            "method": method,
            "path": path,
            "query_string": b"",
            "headers": [(name.encode(), value.encode()) for name, value in headers],
        }
        await app(scope, receive, send)  # type: ignore[arg-type]  # messages as plain dicts

    asyncio.run(run())
    return found
