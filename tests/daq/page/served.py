"""A page that is really served, and requests to it over a socket."""

import socket
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import urlsplit

from daq.acquisition.inputs import PagePressed
from daq.page.host import PageHost

PATIENCE_S = 20.0
"""For a machine under load; nothing waits so long where all is well."""


@contextmanager
def served() -> Iterator[PageHost]:
    """A page on the loopback that answers."""
    host = PageHost()
    host.start()
    try:
        assert host.is_answering(PATIENCE_S)
        yield host
    finally:
        host.end()


def connected(host: PageHost) -> socket.socket:
    """A connection to the page."""
    where = urlsplit(host.links.board)
    assert where.hostname is not None
    assert where.port is not None
    return socket.create_connection((where.hostname, where.port), PATIENCE_S)


def netloc(host: PageHost) -> str:
    """What a browser names the page."""
    return urlsplit(host.links.board).netloc


def path(link: str) -> str:
    """The secret with its slashes."""
    return urlsplit(link).path


def request(
    host: PageHost, method: str, path: str, headers: dict[str, str], body: bytes = b""
) -> bytes:
    """A whole request as bytes, closed behind its answer."""
    lines = [f"{method} {path} HTTP/1.1", *(f"{name}: {each}" for name, each in headers.items())]
    return "\r\n".join([*lines, "Connection: close", "", ""]).encode() + body


def everything(connection: socket.socket) -> bytes:
    """What comes until the other side closes; a reset is such a close."""
    found = b""
    try:
        while piece := connection.recv(65_536):
            found += piece
    except ConnectionResetError:
        return found
    return found


def answered(host: PageHost, data: bytes) -> tuple[int, bytes]:
    """The status and the body that come back for some bytes; 0 where nothing does."""
    with connected(host) as connection:
        connection.sendall(data)
        answer = everything(connection)
    head, _, body = answer.partition(b"\r\n\r\n")
    return (int(head.split(b" ", 2)[1]) if head else 0), body


def got(host: PageHost, link: str, what: str = "") -> tuple[int, bytes]:
    """A page, or one of its files."""
    return answered(host, request(host, "GET", path(link) + what, {"Host": netloc(host)}))


def posted(host: PageHost, body: bytes) -> tuple[int, bytes]:
    """A press."""
    headers = {
        "Host": netloc(host),
        "Origin": f"http://{netloc(host)}",
        "Content-Type": "application/x-www-form-urlencoded",
        "Content-Length": str(len(body)),
    }
    return answered(host, request(host, "POST", path(host.links.press), headers, body))


class Answering:
    """What takes presses in and answers each as done, but those for a wrong step."""

    def __init__(self, step: int) -> None:
        self.step = step
        self.taken: list[tuple[str, str]] = []

    def put(self, item: object) -> None:
        """From the page's thread."""
        assert isinstance(item, PagePressed)
        if item.step != self.step:
            item.answer("refused", "not now")
            return
        self.taken.append((item.word, item.text))
        item.answer("done", "")
