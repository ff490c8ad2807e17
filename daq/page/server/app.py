"""What is answered to a request: pages, parts of them, presses. An ASGI application."""

import asyncio
from collections.abc import AsyncIterator, Callable

import msgspec
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response, StreamingResponse
from starlette.types import Receive, Scope, Send

from daq.page.server.access import Admitted, PageGate
from daq.page.server.files import file_named
from daq.page.server.hub import Hub, PageEvent, Viewer
from daq.page.server.press_form import MOST_BYTES, BadForm, pressed

MOST_READ = 65_536
"""Of a body that is too long so much is read, so that its sender hears why it is refused."""

MOST_HEADER = 16_384
ANSWER_S = 5.0
_POLICY = {
    "default-src": "'none'",
    **dict.fromkeys(("script-src", "style-src", "img-src", "connect-src", "media-src"), "'self'"),
    "form-action": "'self'",
    "frame-ancestors": "'none'",
    "base-uri": "'none'",
}
"""Source: Content Security Policy Level 3 (W3C), 6."""

HEADERS = {
    "Content-Security-Policy": "; ".join(f"{what} {who}" for what, who in _POLICY.items()),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
}
CLOSE = {"Connection": "close"}


class Application:
    """`page` makes the whole page of one link from the parts that it shows."""

    def __init__(
        self,
        gate: PageGate,
        hub: Hub,
        page: Callable[[dict[str, str], bool, int], str],
    ) -> None:
        self._gate = gate
        self._hub = hub
        self._page = page

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] == "http":
            request = Request(scope, receive)
            answer = await self._answer(request)
            answer.headers.update(HEADERS)
            await answer(scope, receive, send)

    async def _answer(self, request: Request) -> Response:
        headers = request.headers
        if sum(len(name) + len(value) for name, value in headers.raw) > MOST_HEADER:
            return _words(431, "That is too long.", is_last=True)
        admitted = self._gate.admit(
            request.method,
            request.scope["path"],
            headers.getlist("host"),
            headers.getlist("origin"),
        )
        if not isinstance(admitted, Admitted):
            answer = _words(admitted.status, admitted.words, is_last=True)
            if admitted.methods:
                answer.headers["Allow"] = admitted.methods
            return answer
        if admitted.does == "press":
            return await self._press(request)
        match admitted.what:
            case "":
                hub = self._hub
                html = self._page(hub.parts, admitted.may_press, hub.moment.step)
                return Response(html, media_type="text/html")
            case "state.json":
                board = self._hub.moment.board
                if board is None:
                    return _words(503, "It has not begun yet.")
                return Response(msgspec.json.encode(board), media_type="application/json")
            case "events":
                return self._events(may_press=admitted.may_press)
            case name:
                file = file_named(name)
                if file is None:
                    return _words(404, "There is no such page.")
                return Response(file.content, media_type=file.kind)

    async def _press(self, request: Request) -> Response:
        body = bytearray()
        try:
            async for chunk in request.stream():
                body += chunk
                if len(body) > MOST_READ:
                    break
        except ClientDisconnect:
            return _words(400, "", is_last=True)
        try:
            found = pressed(request.headers.get("content-type", ""), bytes(body))
        except BadForm as error:
            return _words(error.status, error.words, is_last=len(body) > MOST_BYTES)
        status, words = await self._hub.press(found, ANSWER_S)
        return Response(status_code=204) if status == 204 else _words(status, words)

    def _events(self, *, may_press: bool) -> Response:
        viewer = self._hub.enter(may_press=may_press)
        if viewer is None:
            return _words(503, "Too many look at this page already.", is_last=True)
        return StreamingResponse(
            self._stream(viewer), media_type="text/event-stream", headers=CLOSE
        )

    async def _stream(self, viewer: Viewer) -> AsyncIterator[bytes]:
        """Source: The WHATWG HTML Standard, 9.2.6, "Interpreting an event stream"."""
        try:
            yield b"retry: 1000\n\n"  # in ms: how soon a page that lost us asks again
            while True:
                await viewer.bell.wait()
                viewer.bell.clear()
                is_ticked, viewer.is_ticked = viewer.is_ticked, False
                event = self._hub.due(viewer)
                if event is not None:
                    yield _data(event)
                    await asyncio.sleep(0)  # others have their turn before anything is drawn
                drawn = self._hub.due_drawings(viewer)
                if drawn is not None:
                    yield _data(drawn)
                if is_ticked and event is None and drawn is None:
                    yield b"event: tick\ndata:\n\n"
                if drawn is not None and drawn.over:
                    return
        finally:
            self._hub.leave(viewer)


def _data(event: PageEvent) -> bytes:
    return b"data: " + msgspec.json.encode(event) + b"\n\n"


def _words(status: int, words: str, *, is_last: bool = False) -> Response:
    return Response(
        words, status, headers=dict(CLOSE) if is_last else None, media_type="text/plain"
    )
