"""Requests that no page of ours sends: refused, and the session does not notice."""

import socket
from urllib.parse import urlencode, urlsplit

import pytest

from tests.system.browser.played import GOOD, Bench


class Link(str):
    """A link, taken apart."""

    @property
    def at(self) -> tuple[str, int]:
        """Its machine and port."""
        parts = urlsplit(self)
        return str(parts.hostname), int(parts.port or 80)

    @property
    def netloc(self) -> str:
        """As a Host header names it."""
        return urlsplit(self).netloc

    @property
    def path(self) -> str:
        """What follows that."""
        return urlsplit(self).path


def answer(link: Link, request: str) -> tuple[int, str]:
    """The status and the words that some bytes get."""
    with socket.create_connection(link.at, 10) as line:
        line.sendall(request.encode())
        data = b""
        while chunk := line.recv(65536):
            data += chunk
    head, _, body = data.decode().partition("\r\n\r\n")
    return int(head.split()[1]), body


def request(link: Link, method: str, *headers: str, host: str = "", body: str = "") -> str:
    """A request, closed after its answer."""
    lines = [f"{method} {link.path} HTTP/1.1", f"Host: {host or link.netloc}", "Connection: close"]
    if body:
        lines += [f"Content-Length: {len(body)}"]
        lines += ["Content-Type: application/x-www-form-urlencoded"]
    return "\r\n".join([*lines, *headers, "", body])


@pytest.fixture
def link(bench: Bench) -> Link:
    """The link to press of a session whose first place is measured."""
    bench.measure()
    bench.check()
    bench.read(GOOD[0])
    return Link(bench.press)


def test_a_foreign_host_is_400_whatever_is_asked(link: Link) -> None:
    for host in ("evil.example", f"evil.example:{link.at[1]}", "127.0.0.1", "localhost"):
        assert answer(link, request(link, "GET", host=host))[0] == 400
    two = request(link, "GET", "Host: evil.example")
    assert answer(link, two)[0] == 400
    assert answer(link, request(link, "GET"))[0] == 200


def test_a_press_from_a_foreign_origin_or_from_none_is_403(link: Link, bench: Bench) -> None:
    body = urlencode({"word": "back", "text": "", "step": "3"})
    for origin in ("http://evil.example", "null", f"https://{link.netloc}"):
        status, words = answer(link, request(link, "POST", f"Origin: {origin}", body=body))
        assert (status, words) == (403, "A page from elsewhere may not use this one.")
    assert answer(link, request(link, "POST", body=body))[0] == 403
    assert answer(link, request(link, "GET", "Origin: http://evil.example"))[0] == 403
    assert bench.stored("void") == []


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "TRACE", "PATCH"])
def test_other_methods_are_refused(link: Link, method: str) -> None:
    found = answer(link, request(link, method, f"Origin: http://{link.netloc}"))
    assert found[0] == 405


def test_what_is_too_long_is_413_and_nonsense_400(link: Link) -> None:
    ours = f"Origin: http://{link.netloc}"
    note = urlencode({"word": "note", "text": "n" * 65536, "step": "3"})
    assert answer(link, request(link, "POST", ours, body=note))[0] == 413
    for body in ("word=back", "word=rm&text=&step=1", "word=back&text=&step=x", "a=b&a=c"):
        assert answer(link, request(link, "POST", ours, body=body))[0] == 400
