"""The read loop: outcomes in order, silence, loss, stop, and no thread that dies in silence."""

import threading
import time
from collections.abc import Callable, Iterator
from queue import Queue
from typing import Protocol

import pytest

from drivers.attached.device_id import DeviceId
from drivers.clock import Clock
from drivers.dialects.codec import Codec, codec_for
from drivers.errors import PortLost
from drivers.gauge.reader import FromGauge, GaugeBack, GaugeLost, GaugeReader
from drivers.ports import open_port
from drivers.ports.base import Port
from drivers.profile.file import parse_profile
from drivers.profile.profile import Link
from drivers.reading import Instant, Outcome, Reading, Reject, plain

PATIENCE_S = 5.0
PROFILE = (
    'schema = 1\nid = "t"\nkind = "text"\n[frame]\nend = "\\r\\n"\nidle_ms = 60\n'
    '[[layout]]\nname = "number"\nform = "fixed"\n'
)

Start = Callable[[Port, Codec], GaugeReader]


class Pty(Protocol):
    path: str

    def send(self, data: bytes) -> None: ...
    def unplug(self) -> None: ...


@pytest.fixture
def queue() -> Queue[FromGauge]:
    return Queue()


@pytest.fixture
def start(queue: Queue[FromGauge]) -> Iterator[Start]:
    readers: list[GaugeReader] = []

    def begin(port: Port, codec: Codec) -> GaugeReader:
        reader = GaugeReader(port, lambda: codec, Clock(), queue.put)
        readers.append(reader)
        reader.start()
        return reader

    yield begin
    for reader in readers:
        reader.stop()


def codec() -> Codec:
    return codec_for(parse_profile(PROFILE, "t.toml"))


def told(item: FromGauge) -> str:
    match item:
        case Reading():
            return plain(item.value)
        case Reject():
            return item.code
        case _:
            return type(item).__name__


def gauge_threads() -> list[str]:
    return [thread.name for thread in threading.enumerate() if thread.name == "gauge"]


class Script:
    """A port that plays a list: bytes are read, an exception is raised; then it waits. Nothing lies
    in it at the start.
    """

    name = "script"
    identity = DeviceId("script")

    def __init__(self, *steps: bytes | Exception) -> None:
        self._steps = list(steps)
        self._woken = threading.Event()
        self.closed_by: list[str] = []
        self.waits: list[float | None] = []

    def read(self, timeout_s: float | None) -> bytes:
        if timeout_s == 0.0:
            return b""
        self.waits.append(timeout_s)
        if not self._steps:
            self._woken.wait(PATIENCE_S)
            return b""
        step = self._steps.pop(0)
        if isinstance(step, Exception):
            raise step
        return step

    def write(self, data: bytes) -> None: ...

    def notices(self) -> tuple[str, ...]:
        return ()

    def wake(self) -> None:
        self._woken.set()

    def close(self) -> None:
        self.closed_by.append(threading.current_thread().name)


class Broken:
    """A codec with a bug."""

    silence_s = None
    is_whole = False

    def feed(self, chunk: bytes, at: Instant) -> list[Outcome]:
        raise ZeroDivisionError("a bug")

    def idle(self, at: Instant) -> list[Outcome]:
        return []

    def request(self) -> bytes | None:
        return None


# --- over a real terminal ---


def test_frames_become_outcomes_in_order(pty: Pty, queue: Queue[FromGauge], start: Start) -> None:
    start(open_port(pty.path, Link()), codec())
    for part in (b"1.0\r\n2.", b"0\r\nx\r\n", b"3.0\r", b"\n"):
        pty.send(part)
    items = [queue.get(timeout=PATIENCE_S) for _ in range(4)]
    assert [told(item) for item in items] == ["1.0", "2.0", "syntax", "3.0"]


def test_a_half_frame_is_closed_by_silence(pty: Pty, queue: Queue[FromGauge], start: Start) -> None:
    start(open_port(pty.path, Link()), codec())
    pty.send(b"1.")
    assert told(queue.get(timeout=PATIENCE_S)) == "truncated"
    pty.send(b"2.0\r\n")
    assert told(queue.get(timeout=PATIENCE_S)) == "2.0"


def test_an_outcome_has_the_moment_of_its_arrival(
    pty: Pty, queue: Queue[FromGauge], start: Start
) -> None:
    start(open_port(pty.path, Link()), codec())
    before = Clock().now().mono_ns
    pty.send(b"1.0\r\n")
    item = queue.get(timeout=PATIENCE_S)
    assert isinstance(item, Reading)
    assert before <= item.at.mono_ns <= Clock().now().mono_ns


def test_loss_comes_last(pty: Pty, queue: Queue[FromGauge], start: Start) -> None:
    start(open_port(pty.path, Link()), codec())
    pty.send(b"1.0\r\n")
    assert told(queue.get(timeout=PATIENCE_S)) == "1.0"
    pty.unplug()
    item = queue.get(timeout=PATIENCE_S)
    assert isinstance(item, GaugeLost)
    assert isinstance(item.lost, PortLost)
    assert item.lost.port == pty.path
    assert queue.empty()


def test_stop_ends_the_loop_in_time_and_gives_the_port_back(
    pty: Pty, queue: Queue[FromGauge], start: Start
) -> None:
    reader = start(open_port(pty.path, Link()), codec())
    began = time.monotonic()
    reader.stop(deadline_s=PATIENCE_S)
    assert time.monotonic() - began < 2.0
    assert gauge_threads() == []
    assert queue.empty()
    open_port(pty.path, Link()).close()


# --- over a scripted port ---


def test_the_loop_waits_without_end_unless_bytes_lie_half_read(
    queue: Queue[FromGauge], start: Start
) -> None:
    port = Script(b"1.", b"0\r\n")
    start(port, codec()).stop()
    assert told(queue.get(timeout=PATIENCE_S)) == "1.0"
    assert port.waits == [None, 0.06, None]


def test_the_reading_thread_closes_the_port(queue: Queue[FromGauge], start: Start) -> None:
    port = Script()
    reader = start(port, codec())
    reader.stop()
    reader.stop()
    assert port.closed_by == ["gauge"]


def test_a_lost_port_is_closed_and_its_half_frame_told(
    queue: Queue[FromGauge], start: Start
) -> None:
    port = Script(b"1.", PortLost("script", "gone"))
    reader = start(port, codec())
    half = queue.get(timeout=PATIENCE_S)
    assert isinstance(half, Reject)
    assert (half.code, half.raw) == ("truncated", b"1.")
    assert told(queue.get(timeout=PATIENCE_S)) == "GaugeLost"
    reader.stop()
    assert port.closed_by == ["gauge"]
    assert queue.empty()


def test_an_unexpected_exception_travels_to_the_owner(
    queue: Queue[FromGauge], start: Start
) -> None:
    port = Script(b"1.0\r\n")
    reader = start(port, Broken())
    item = queue.get(timeout=PATIENCE_S)
    assert isinstance(item, ZeroDivisionError)
    reader.stop()
    assert port.closed_by == ["gauge"]
    assert queue.empty()


def test_an_unexpected_exception_of_the_port_travels_too(
    queue: Queue[FromGauge], start: Start
) -> None:
    start(Script(MemoryError("full")), codec())
    assert isinstance(queue.get(timeout=PATIENCE_S), MemoryError)


def test_a_loss_after_stop_is_nobodys_business(queue: Queue[FromGauge]) -> None:
    class LostWhenWoken(Script):
        def read(self, timeout_s: float | None) -> bytes:
            if timeout_s == 0.0:
                return b""
            super().read(timeout_s)
            raise PortLost("script", "gone while stopping")

    port = LostWhenWoken()
    reader = GaugeReader(port, codec, Clock(), queue.put)
    reader.start()
    reader.stop()
    assert port.closed_by == ["gauge"]
    assert queue.empty()


def test_stop_does_not_wait_longer_than_its_deadline(queue: Queue[FromGauge]) -> None:
    class Deaf(Script):
        def wake(self) -> None: ...

    port = Deaf()
    reader = GaugeReader(port, codec, Clock(), queue.put)
    reader.start()
    began = time.monotonic()
    reader.stop(deadline_s=0.1)
    assert time.monotonic() - began < 2.0
    Script.wake(port)
    reader.stop()
    assert gauge_threads() == []


SILENCE_ENDED = PROFILE.replace('end = "\\r\\n"\n', "")


def test_what_a_loss_cut_off_is_no_reading_though_silence_would_have_ended_it(
    queue: Queue[FromGauge],
) -> None:
    profile = parse_profile(SILENCE_ENDED, "t.toml")
    port = Script(b"59.98", PortLost("script", "gone"))
    reader = GaugeReader(port, lambda: codec_for(profile), Clock(), queue.put)
    reader.start()
    half = queue.get(timeout=PATIENCE_S)
    reader.stop()
    assert isinstance(half, Reject)
    assert (half.code, half.raw) == ("truncated", b"59.98")


def test_a_port_that_opens_and_is_lost_at_once_has_not_come_back(
    queue: Queue[FromGauge],
) -> None:
    ports = [Script(PortLost("script", "nobody there")), Script(b"1.0\r\n")]
    back = list(ports)
    gone: list[float] = []

    def search(lost: Port, gone_s: float) -> Port | None:
        gone.append(gone_s)
        return back.pop(0)

    port = Script(PortLost("script", "gone"))
    reader = GaugeReader(port, codec, Clock(), queue.put, search=search)
    reader.start()
    items = [queue.get(timeout=PATIENCE_S) for _ in range(3)]
    reader.stop()
    assert [told(item) for item in items] == ["GaugeLost", "GaugeBack", "1.0"]
    assert ports[0].closed_by == ["gauge"]
    assert 0 < gone[0] < gone[1]


def test_what_a_gauge_said_before_its_return_was_told_has_the_moment_of_before(
    queue: Queue[FromGauge],
) -> None:
    def search(lost: Port, gone_s: float) -> Port | None:
        return Script(b"1.0\r\n", b"2.0\r\n")

    reader = GaugeReader(
        Script(PortLost("script", "gone")), codec, Clock(), queue.put, search=search
    )
    reader.start()
    _, back, first, later = (queue.get(timeout=PATIENCE_S) for _ in range(4))
    reader.stop()
    assert isinstance(back, GaugeBack)
    assert isinstance(first, Reading)
    assert isinstance(later, Reading)
    assert first.at.mono_ns <= back.at.mono_ns <= later.at.mono_ns
