"""Bounds of a connection, by a clock that is turned by hand."""

from collections.abc import Callable
from dataclasses import dataclass, field

import pytest
from uvicorn.config import Config
from uvicorn.server import ServerState

from daq.page.server.app import MOST_HEADER
from daq.page.server.bounded import (
    REQUEST_S,
    UNREAD_S,
    BoundedProtocol,
)


@dataclass
class Timer:
    """What is due after some seconds."""

    after_s: float
    call: Callable[[], object]
    is_cancelled: bool = False

    def cancel(self) -> None:
        """Not any more."""
        self.is_cancelled = True


@dataclass
class Loop:
    """A loop whose time stands still until it is turned."""

    timers: list[Timer] = field(default_factory=list)
    tasks: int = 0

    def call_later(self, after_s: float, call: Callable[[], object]) -> Timer:
        """Noted."""
        self.timers.append(Timer(after_s, call))
        return self.timers[-1]

    def create_task(self, coroutine: object, **_: object) -> "Task":
        """Counted, and not run."""
        self.tasks += 1
        coroutine.close()  # type: ignore[attr-defined]  # a coroutine that is never awaited
        return Task()

    def turn(self, seconds: float) -> None:
        """Whatever is due within so many seconds happens now."""
        due = [each for each in self.timers if each.after_s <= seconds and not each.is_cancelled]
        for timer in due:
            timer.is_cancelled = True
            timer.call()


class Task:
    """A task that never ends."""

    def add_done_callback(self, call: object) -> None:
        """Never called."""


@dataclass
class Wire:
    """The transport of a connection."""

    host: str = "192.168.1.30"
    is_aborted: bool = False
    is_reading: bool = True
    written: bytes = b""

    def get_extra_info(self, name: str) -> object:
        """Of the peer."""
        return (self.host, 40000) if name == "peername" else None

    def abort(self) -> None:
        """Closed at once."""
        self.is_aborted = True

    def close(self) -> None:
        """Closed once all is written."""

    def is_closing(self) -> bool:
        """It is aborted."""
        return self.is_aborted

    def write(self, data: bytes) -> None:
        """Kept."""
        self.written += data

    def pause_reading(self) -> None:
        """No more for now."""
        self.is_reading = False

    def resume_reading(self) -> None:
        """More again."""
        self.is_reading = True


class Connections:
    """All connections of one server."""

    def __init__(self) -> None:
        self.loop = Loop()
        self._state = ServerState()

        async def app(scope: object, receive: object, send: object) -> None:
            raise AssertionError("not run")

        self._config = Config(
            app, log_config=None, lifespan="off", h11_max_incomplete_event_size=MOST_HEADER
        )

    def open(self, host: str = "192.168.1.30") -> tuple[BoundedProtocol, Wire]:
        """One more."""
        wire = Wire(host)
        protocol = BoundedProtocol(
            self._config,
            self._state,
            {},
            self.loop,  # type: ignore[arg-type]  # as much of one as is used
        )
        protocol.connection_made(wire)  # type: ignore[arg-type]  # likewise
        return protocol, wire


WHOLE = b"GET / HTTP/1.1\r\nHost: bench\r\n\r\n"


def test_a_connection_that_asks_nothing_is_closed() -> None:
    site = Connections()
    _, wire = site.open()
    site.loop.turn(REQUEST_S - 0.1)
    assert not wire.is_aborted
    site.loop.turn(REQUEST_S)
    assert wire.is_aborted


@pytest.mark.parametrize(
    "pieces",
    [
        [b"G", b"E", b"T", b" / HTTP/1.1\r\n", b"Host: bench\r\n", b"X: y\r\n"],
        [b"POST / HTTP/1.1\r\nHost: bench\r\nContent-Length: 9\r\n\r\n", b"word", b"=ke"],
    ],
)
def test_a_request_in_drops_has_no_more_time_than_another(pieces: list[bytes]) -> None:
    site = Connections()
    protocol, wire = site.open()
    for piece in pieces:
        protocol.data_received(piece)
    pending = [each for each in site.loop.timers if not each.is_cancelled]
    assert [each.after_s for each in pending] == [REQUEST_S]
    site.loop.turn(REQUEST_S)
    assert wire.is_aborted


def test_a_whole_request_may_be_answered_for_as_long_as_it_takes() -> None:
    site = Connections()
    protocol, wire = site.open()
    protocol.data_received(WHOLE)
    site.loop.turn(1000)
    assert site.loop.tasks == 1
    assert not wire.is_aborted


def test_of_pipelined_requests_one_runs_at_a_time() -> None:
    site = Connections()
    protocol, wire = site.open()
    protocol.data_received(WHOLE * 100)
    assert site.loop.tasks == 1
    assert not wire.is_reading
    site.loop.turn(1000)
    assert not wire.is_aborted


@pytest.mark.parametrize(
    "nonsense",
    [
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n",  # somebody tries https
        b"GET / HTTP/1.1\r\n\r\n",  # no Host
        b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: bench\r\nX: " + b"y" * (MOST_HEADER + 1),
        b"POST / HTTP/1.1\r\nHost: bench\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\n",
    ],
)
def test_nonsense_is_answered_and_closed(nonsense: bytes) -> None:
    site = Connections()
    protocol, wire = site.open()
    protocol.data_received(nonsense)
    assert wire.written.startswith(b"HTTP/1.1 400 ")
    assert site.loop.tasks == 0
    site.loop.turn(REQUEST_S)
    assert wire.is_aborted


def test_a_viewer_that_does_not_read_is_dropped() -> None:
    site = Connections()
    protocol, wire = site.open()
    protocol.data_received(WHOLE)
    protocol.pause_writing()
    site.loop.turn(UNREAD_S - 0.1)
    assert not wire.is_aborted
    site.loop.turn(UNREAD_S)
    assert wire.is_aborted


def test_a_viewer_that_reads_again_stays() -> None:
    site = Connections()
    protocol, wire = site.open()
    protocol.data_received(WHOLE)
    protocol.pause_writing()
    protocol.resume_writing()
    site.loop.turn(1000)
    assert not wire.is_aborted
