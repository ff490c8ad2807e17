"""A gauge that is asked: the request on the wire, the answer, none in time, one that is late."""

import os
import threading
import time
import tty
from collections.abc import Callable, Iterator
from queue import Empty, Queue

import pytest

from drivers.clock import Clock
from drivers.dialects.codec import codec_for
from drivers.gauge.asking import QUIET_REPLIES, Asking
from drivers.gauge.reader import FromGauge, GaugeReader
from drivers.ports import open_port
from drivers.profile.file import parse_profile
from drivers.profile.profile import Link
from drivers.reading import LATE, Reading, Reject, plain

PATIENCE_S = 5.0
PROFILE = """schema = 1
id = "asked"
kind = "text"
[trigger]
send = "Q\\r"
reply_ms = 150
echo = true
[frame]
end = "\\r"
idle_ms = 60
[[layout]]
name = "number"
form = "fixed"
"""

Answer = Callable[[bytes], bytes]


class Asked:
    """The far end of a pty: hears requests, and answers as it is told."""

    def __init__(self) -> None:
        self._master, self._slave = os.openpty()
        tty.setraw(self._slave)
        self.path = os.ttyname(self._slave)
        self.heard: Queue[bytes] = Queue()
        threading.Thread(target=self._hear, daemon=True).start()

    def _hear(self) -> None:
        try:
            while data := os.read(self._master, 100):
                self.heard.put(data)
        except OSError:
            return

    def say(self, data: bytes) -> None:
        os.write(self._master, data)

    def close(self) -> None:
        os.close(self._slave)
        os.close(self._master)


@pytest.fixture
def gauge() -> Iterator[Asked]:
    gauge = Asked()
    yield gauge
    gauge.close()


@pytest.fixture
def queue() -> Queue[FromGauge]:
    return Queue()


Begin = Callable[..., GaugeReader]


@pytest.fixture
def begin(gauge: Asked, queue: Queue[FromGauge]) -> Iterator[Begin]:
    readers: list[GaugeReader] = []

    def start(every_s: float | None = None, reply_s: float = 0.15) -> GaugeReader:
        profile = parse_profile(PROFILE, "asked.toml")
        reader = GaugeReader(
            open_port(gauge.path, Link()),
            lambda: codec_for(profile),
            Clock(),
            queue.put,
            asking=Asking(reply_s, every_s),
        )
        readers.append(reader)
        reader.start()
        return reader

    yield start
    for reader in readers:
        reader.stop()


def value(item: FromGauge) -> tuple[str, tuple[str, ...]]:
    assert isinstance(item, Reading), item
    return plain(item.value), item.flags


def test_nothing_is_sent_before_a_press(gauge: Asked, begin: Begin) -> None:
    begin()
    with pytest.raises(Empty):
        gauge.heard.get(timeout=0.3)


def test_a_press_sends_the_request_and_its_answer_is_a_reading(
    gauge: Asked, begin: Begin, queue: Queue[FromGauge]
) -> None:
    reader = begin()
    for number in (b"1.000", b"2.000"):
        reader.ask()
        assert gauge.heard.get(timeout=PATIENCE_S) == b"Q\r"
        gauge.say(b"Q\r" + number + b"\r")
        assert value(queue.get(timeout=PATIENCE_S)) == (number.decode(), ())
    assert queue.empty()


def test_an_answer_without_the_echo_says_so(
    gauge: Asked, begin: Begin, queue: Queue[FromGauge]
) -> None:
    begin().ask()
    gauge.heard.get(timeout=PATIENCE_S)
    gauge.say(b"1.000\r")
    assert value(queue.get(timeout=PATIENCE_S)) == ("1.000", ("no-echo",))


def test_no_answer_in_time_is_told_once_and_one_that_comes_later_is_marked(
    gauge: Asked, begin: Begin, queue: Queue[FromGauge]
) -> None:
    reader = begin()
    began = time.monotonic()
    reader.ask()
    item = queue.get(timeout=PATIENCE_S)
    assert isinstance(item, Reject)
    assert item.code == "no-reply"
    assert "150 ms" in item.detail
    assert time.monotonic() - began >= 0.15
    gauge.say(b"Q\r1.000\r")
    assert value(queue.get(timeout=PATIENCE_S)) == ("1.000", (LATE,))
    gauge.say(b"2.000\r")  # nor is this one sure, as long as it has not been quiet
    assert value(queue.get(timeout=PATIENCE_S)) == ("2.000", (LATE, "no-echo"))
    time.sleep(0.15 * QUIET_REPLIES + 0.1)
    gauge.say(b"3.000\r")  # the gauge's own button
    assert value(queue.get(timeout=PATIENCE_S)) == ("3.000", ("no-echo",))
    assert queue.empty()


def test_a_second_press_before_the_answer_is_asked_after_it(
    gauge: Asked, begin: Begin, queue: Queue[FromGauge]
) -> None:
    reader = begin(reply_s=2.0)
    reader.ask()
    assert gauge.heard.get(timeout=PATIENCE_S) == b"Q\r"
    reader.ask()
    reader.ask()
    with pytest.raises(Empty):
        gauge.heard.get(timeout=0.2)
    gauge.say(b"Q\r1.000\r")
    assert gauge.heard.get(timeout=PATIENCE_S) == b"Q\r"
    gauge.say(b"Q\r2.000\r")
    assert [value(queue.get(timeout=PATIENCE_S))[0] for _ in "12"] == ["1.000", "2.000"]
    with pytest.raises(Empty):
        gauge.heard.get(timeout=0.2)


def test_a_gauge_that_is_watched_is_asked_again_after_each_answer(
    gauge: Asked, begin: Begin, queue: Queue[FromGauge]
) -> None:
    begin(every_s=0.05)
    for number in range(4):
        assert gauge.heard.get(timeout=PATIENCE_S) == b"Q\r"
        gauge.say(b"Q\r%d.000\r" % number)
    assert [value(queue.get(timeout=PATIENCE_S))[0] for _ in range(4)] == [
        "0.000",
        "1.000",
        "2.000",
        "3.000",
    ]


def test_a_watched_gauge_that_is_silent_is_asked_again(
    gauge: Asked, begin: Begin, queue: Queue[FromGauge]
) -> None:
    begin(every_s=0.05, reply_s=0.1)
    assert [gauge.heard.get(timeout=PATIENCE_S) for _ in range(3)] == [b"Q\r"] * 3
    item = queue.get(timeout=PATIENCE_S)
    assert isinstance(item, Reject)
    assert item.code == "no-reply"
