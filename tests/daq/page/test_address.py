"""Where the page listens, and the links that lead there."""

import socket

import pytest

from daq.errors import UsageError
from daq.page import address
from daq.page.address import (
    PageUnavailable,
    Secrets,
    Where,
    links_of,
    listening,
    netloc_of,
    where_of,
)


@pytest.mark.parametrize(
    ("text", "where"),
    [
        (None, Where("127.0.0.1", 0)),
        ("192.168.1.20", Where("192.168.1.20", 0)),
        ("192.168.1.20:8080", Where("192.168.1.20", 8080)),
        ("[::1]", Where("::1", 0)),
        ("[::]:8080", Where("::", 8080)),
        ("Bench.Local:80", Where("bench.local", 80)),
    ],
)
def test_an_address_may_have_a_port(text: str | None, where: Where) -> None:
    assert where_of(text) == where


@pytest.mark.parametrize(
    "text",
    [
        *("", ":8080", "::1", "[::1", "[::1]8080", "[bench]", "bench:port", "bench:65536"),
        *("bench:", "[::1]:"),  # a port that was meant to be given
        *("a b", "bench/", "http://bench", "bench:-1", "fe80::1%eth0", "bénch", "x" * 9 + "\n:1"),
    ],
)
def test_what_is_no_address_is_refused(text: str) -> None:
    with pytest.raises(UsageError) as refused:
        where_of(text)
    assert refused.value.option == "--board-on"


def test_the_loopback_is_not_open_to_others() -> None:
    assert not any(Where(host).is_open for host in ("127.0.0.1", "::1", "localhost"))
    assert all(Where(host).is_open for host in ("192.168.1.20", "0.0.0.0", "::", "bench"))


def test_a_port_in_use_is_told_as_one() -> None:
    with listening(Where("127.0.0.1")) as first:
        port = first.getsockname()[1]
        with pytest.raises(PageUnavailable, match="another program has that port") as refused:
            listening(Where("127.0.0.1", port))
    assert refused.value.exit_code == 3
    assert f"127.0.0.1:{port}" in str(refused.value)


def test_an_address_that_is_not_ours_is_told_as_one() -> None:
    with pytest.raises(PageUnavailable, match="does not have that address"):
        listening(Where("192.0.2.7"))  # nobody's: RFC 5737, 3


@pytest.mark.parametrize("host", ["255.255.255.255", "127.255.255.255", "224.0.0.1", "ff02::1"])
def test_an_address_of_many_machines_is_none_of_ours(host: str) -> None:
    """Linux lets a socket listen there, and no browser ever gets through."""
    with pytest.raises(PageUnavailable, match="does not have that address") as refused:
        listening(Where(host))
    assert refused.value.exit_code == 3


def test_a_name_that_nobody_knows_is_told_as_one(monkeypatch: pytest.MonkeyPatch) -> None:
    def unknown(*_: object, **__: object) -> object:
        raise socket.gaierror(socket.EAI_NONAME, "unknown")

    monkeypatch.setattr(socket, "getaddrinfo", unknown)
    with pytest.raises(PageUnavailable, match="nobody here knows that name"):
        listening(Where("no-such-bench"))


def test_the_port_of_a_run_that_ended_can_be_had_again_at_once() -> None:
    with listening(Where("127.0.0.1")) as first:
        port = first.getsockname()[1]
        with socket.create_connection(("127.0.0.1", port)) as viewer:
            first.accept()[0].close()  # this side closes first, so its end of it lingers
            viewer.recv(1)
    with listening(Where("127.0.0.1", port)) as again:
        assert again.getsockname()[1] == port


@pytest.mark.parametrize(
    ("where", "port", "netloc"),
    [
        (Where("127.0.0.1"), 8080, "127.0.0.1:8080"),
        (Where("::1"), 8080, "[::1]:8080"),
        (Where("bench"), 80, "bench"),  # a browser leaves that port out
        (Where("0.0.0.0"), 8080, "192.168.1.20:8080"),
        (Where("::"), 8080, "192.168.1.20:8080"),
    ],
)
def test_a_link_has_what_a_browser_will_call_this_page(
    where: Where, port: int, netloc: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Bound(socket.socket):
        def getsockname(self) -> tuple[str, int]:
            return "", port

    monkeypatch.setattr(address, "reachable", lambda: "192.168.1.20")
    with Bound() as sock:
        assert netloc_of(where, sock) == netloc


def test_links_end_in_a_slash_behind_their_secret() -> None:
    links = links_of("127.0.0.1:8080", Secrets("look", "press"))
    assert links.board == "http://127.0.0.1:8080/look/"
    assert links.press == "http://127.0.0.1:8080/press/"


def test_secrets_have_128_bits_and_are_never_the_same() -> None:
    some = [Secrets.new() for _ in range(20)]
    all_of_them = {secret for each in some for secret in (each.look, each.press)}
    assert len(all_of_them) == 40
    assert {len(secret) for secret in all_of_them} == {22}  # 128 / 6 bits a character, rounded up


def test_the_address_that_others_reach_is_found_without_sending() -> None:
    found = address.reachable()
    with socket.socket(socket.AF_INET6 if ":" in found else socket.AF_INET) as sock:
        sock.bind((found, 0))  # it is one of ours
