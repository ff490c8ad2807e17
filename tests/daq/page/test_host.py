"""The page of a run as it is really served: its process, its end, and those who mean no good."""

import os
import signal
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest
from msgspec.structs import replace

from daq.board.board import Board
from daq.page import host as host_module
from daq.page.child import Child
from daq.page.host import GIVEN_UP, MOST_STARTS, PageHost
from daq.page.server.door import MOST_OF_ONE
from tests.daq.page.boards import Shown
from tests.daq.page.served import (
    PATIENCE_S,
    Answering,
    answered,
    connected,
    everything,
    got,
    netloc,
    path,
    posted,
    request,
    served,
)

AT_ONCE_S = 2.0
"""Far less than any wait for a server, far more than a thousand calls take."""


@pytest.fixture(scope="module")
def board(tmp_path_factory: pytest.TempPathFactory) -> Board:
    folder = tmp_path_factory.mktemp("session")
    return Shown(folder / "s").press("59.970", "59.971", "59.980")


@pytest.fixture(scope="module")
def page(board: Board) -> Iterator[PageHost]:
    with served() as host:
        host.show(board)
        yield host


def shown(host: PageHost, step: int) -> Board:
    """The board that is served, once it is that of a step."""
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        try:
            status, body = got(host, host.links.board, "state.json")
        except ConnectionError:  # refused beside a crowd that is not seen to be gone yet
            status, body = 0, b""
        if status == 200 and (found := msgspec.json.decode(body, type=Board)).step == step:
            return found
        time.sleep(0.01)
    raise AssertionError("the board is not served")


def test_the_board_is_served_under_both_links(page: PageHost, board: Board) -> None:
    assert shown(page, board.step) == board
    for link in (page.links.board, page.links.press):
        status, body = got(page, link)
        assert status == 200
        assert b"M1 front 90" in body


def test_presses_reach_the_run_and_are_answered(page: PageHost, board: Board) -> None:
    shown(page, board.step)
    answering = Answering(board.step)
    threading.Thread(target=page.presses, args=(answering.put,), daemon=True).start()
    assert posted(page, f"word=note&text=wiped&step={board.step}".encode()) == (204, b"")
    assert answering.taken == [("note", "wiped")]
    assert posted(page, b"word=back&step=1")[0] == 409
    assert posted(page, f"word=dance&step={board.step}".encode())[0] == 400
    assert posted(page, b"x" * 20_000)[0] == 413
    assert answering.taken == [("note", "wiped")]


def test_who_has_not_the_link_host_and_origin_is_denied(page: PageHost) -> None:
    here = {"Host": netloc(page)}
    cases = [
        ("GET", "/", here, 403),
        ("GET", "/guessed-secret-of-22-let/", here, 403),
        ("GET", path(page.links.board), {"Host": "evil.example"}, 400),
        ("GET", path(page.links.board), {**here, "Origin": "http://evil.example"}, 403),
        ("POST", path(page.links.press), here, 403),
        ("POST", path(page.links.board), {**here, "Origin": f"http://{netloc(page)}"}, 403),
        ("DELETE", path(page.links.press), here, 405),
    ]
    found = [
        answered(page, request(page, method, where, headers))[0]
        for method, where, headers, _ in cases
    ]
    assert found == [status for *_, status in cases]


def test_no_answer_says_what_serves_it_or_when(page: PageHost) -> None:
    with connected(page) as connection:
        connection.sendall(request(page, "GET", path(page.links.board), {"Host": netloc(page)}))
        head = everything(connection).partition(b"\r\n\r\n")[0].lower()
    names = [line.partition(b":")[0] for line in head.split(b"\r\n")[1:]]
    assert b"content-security-policy" in names
    assert not {b"server", b"date", b"set-cookie"} & set(names)


def test_nonsense_is_answered_or_closed_and_the_page_goes_on(page: PageHost) -> None:
    assert answered(page, b"\x16\x03\x01\x02\x00\x01\r\n\r\n")[0] == 400
    head = f"GET {path(page.links.board)} HTTP/1.1\r\nHost: {netloc(page)}\r\n"
    assert answered(page, head.encode() + b"X: " + b"y" * 40_000 + b"\r\n\r\n")[0] in (0, 400, 431)
    assert got(page, page.links.board, "page.css")[0] == 200


def test_pipelined_requests_are_answered_one_after_the_other(page: PageHost) -> None:
    head = f"GET {path(page.links.board)}page.css HTTP/1.1\r\nHost: {netloc(page)}\r\n"
    ten = (f"{head}\r\n" * 9 + f"{head}Connection: close\r\n\r\n").encode()
    with connected(page) as connection:
        connection.sendall(ten)
        assert everything(connection).count(b"HTTP/1.1 200 OK") == 10


def test_viewers_that_never_read_and_a_thousand_connections_hold_nothing_up(
    page: PageHost, board: Board
) -> None:
    """`show` takes its lock and leaves: microseconds, or what a busy machine makes of them."""
    stream = request(page, "GET", f"{path(page.links.board)}events", {"Host": netloc(page)})
    crowd: list[socket.socket] = []
    refused = 0
    try:
        for _ in range(5):
            crowd.append(connected(page))
            crowd[-1].sendall(stream)
        longest_s = 0.0
        for _ in range(1000):
            try:
                crowd.append(connected(page))
            except ConnectionResetError:
                refused += 1
            begun_s = time.monotonic()
            page.show(board)
            longest_s = max(longest_s, time.monotonic() - begun_s)
    finally:
        for connection in crowd:
            connection.close()
    assert longest_s < AT_ONCE_S
    assert len(crowd) + refused > 1000 > MOST_OF_ONE
    assert shown(page, board.step) == board


def test_one_host_has_so_many_connections_and_no_more(page: PageHost, board: Board) -> None:
    crowd = [connected(page) for _ in range(MOST_OF_ONE)]
    try:
        try:
            status, _ = got(page, page.links.board, "page.css")
        except ConnectionError:
            status = 0
        assert status == 0
    finally:
        for connection in crowd:
            connection.close()
    assert shown(page, board.step) == board


def test_a_server_that_hangs_holds_nothing_up_and_shows_the_newest_board(
    page: PageHost, board: Board
) -> None:
    """A thousand boards are more than any pipe holds."""
    assert page.pid is not None
    os.kill(page.pid, signal.SIGSTOP)
    try:
        begun_s = time.monotonic()
        for step in range(1001, 2001):
            page.show(replace(board, step=step))
        assert time.monotonic() - begun_s < AT_ONCE_S
    finally:
        os.kill(page.pid, signal.SIGCONT)
    shown(page, 2000)
    page.show(board)
    shown(page, board.step)


def test_a_server_that_was_killed_is_started_again_and_shows_the_same(board: Board) -> None:
    with served() as host:
        host.show(board)
        shown(host, board.step)
        first = host.pid
        assert first is not None
        os.kill(first, signal.SIGKILL)
        assert shown(host, board.step) == board
        assert host.pid != first


def test_at_the_end_viewers_have_the_answer_and_the_process_is_gone(board: Board) -> None:
    with served() as host:
        host.show(board)
        shown(host, board.step)
        events = request(host, "GET", f"{path(host.links.board)}events", {"Host": netloc(host)})
        with connected(host) as viewer:
            viewer.sendall(events)
            seen = b""
            while b"M1 front 90" not in seen:
                seen += viewer.recv(65_536)
            host.end(board, ["Mains: serve as they are."])
            assert b"Mains: serve as they are." in everything(viewer)
        pid = host.pid
        assert pid is not None
        with pytest.raises(ProcessLookupError):
            os.kill(pid, 0)
        with pytest.raises(ConnectionRefusedError):
            connected(host)


class Dying(Child):
    """A server that dies as it is born."""

    def __init__(self, sock: socket.socket) -> None:
        raise OSError("no more processes")


def test_a_server_that_dies_again_and_again_is_given_up_and_told_once(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    begun: list[int] = []

    def start(sock: socket.socket) -> Child:
        begun.append(1)
        return Dying(sock)

    monkeypatch.setattr(host_module, "Child", start)
    host, said, is_told = PageHost(), list[str](), threading.Event()

    def say(text: str) -> None:
        said.append(text)
        is_told.set()

    host.start(say=say)
    assert is_told.wait(PATIENCE_S)
    assert len(begun) == MOST_STARTS
    board = Shown(tmp_path / "s").board
    host.show(board)
    host.tell("Hint: look")
    host.end(board)
    assert said == [GIVEN_UP]


def test_a_page_that_was_never_begun_ends_too() -> None:
    host = PageHost()
    host.end()
    host.end()
    with pytest.raises(ConnectionRefusedError):
        connected(host)


def test_secrets_are_told_to_nobody_who_lists_processes(page: PageHost) -> None:
    assert page.pid is not None
    of_process = Path(f"/proc/{page.pid}")
    told = (of_process / "cmdline").read_bytes() + (of_process / "environ").read_bytes()
    for link in (page.links.board, page.links.press):
        assert path(link).strip("/").encode() not in told
