"""Presses taken from a gauge that has to be asked, and one that does not answer."""

import os
import threading
import time
import tty
from collections.abc import Iterator
from pathlib import Path

import pytest

from daq.cli import teaching
from drivers.inference.said import CannotInfer
from drivers.profile.profile import Link

ASK = b"READ?\r"
REPLY = b"+1.25 mm\r\n"
TESTED_REPLY_S = 0.3


class AskedGauge:
    """The far end of a pty. `replies` are what it says to each request, b"" for nothing."""

    def __init__(self, *replies: bytes) -> None:
        self._master, slave = os.openpty()
        tty.setraw(slave)
        self.port = os.ttyname(slave)
        self._slave = slave
        self._replies = replies
        self.asked = 0
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def _serve(self) -> None:
        waiting = b""
        while True:
            try:
                waiting += os.read(self._master, 64)
            except OSError:
                return
            while waiting.startswith(ASK):
                waiting = waiting[len(ASK) :]
                reply = self._replies[min(self.asked, len(self._replies) - 1)]
                self.asked += 1
                os.write(self._master, reply)

    def late(self, data: bytes) -> None:
        """Say something unasked."""
        os.write(self._master, data)

    def close(self) -> None:
        os.close(self._slave)  # the other end then reads the end
        self._thread.join(5.0)
        os.close(self._master)


@pytest.fixture
def gauges() -> Iterator[list[AskedGauge]]:
    made: list[AskedGauge] = []
    yield made
    for gauge in made:
        gauge.close()


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(teaching, "REPLY_S", TESTED_REPLY_S)
    monkeypatch.setattr(teaching, "QUIET_S", TESTED_REPLY_S / 3)


def nobody() -> bool:
    return False


def operator() -> bool:
    return True


def test_an_asked_gauge_is_taught_without_anybody_there(gauges: list[AskedGauge]) -> None:
    gauges.append(AskedGauge(REPLY))
    taken = teaching.from_port(gauges[0].port, 3, None, ASK, nobody)
    assert taken.bursts == (REPLY,) * 3


@pytest.mark.parametrize("replies", [(b"",), (REPLY, b"")], ids=["never", "once only"])
def test_a_silent_gauge_ends_it_in_words_where_nobody_is_there(
    gauges: list[AskedGauge], replies: tuple[bytes, ...]
) -> None:
    gauges.append(AskedGauge(*replies))
    began = time.monotonic()
    with pytest.raises(
        CannotInfer, match=r"No answer came within .* s\. Is the gauge on.*--line.*--ask"
    ):
        teaching.from_port(gauges[0].port, 3, None, ASK, nobody)
    assert time.monotonic() - began < 5.0
    assert gauges[0].asked == len(replies)


def test_an_operator_may_have_a_silent_gauge_asked_again(
    gauges: list[AskedGauge], capsys: pytest.CaptureFixture[str]
) -> None:
    gauges.append(AskedGauge(b"", REPLY, b"", b"", b"-0.5 mm\r\n", REPLY))
    taken = teaching.from_port(gauges[0].port, 3, None, ASK, operator)
    assert taken.bursts == (REPLY, b"-0.5 mm\r\n", REPLY)
    assert gauges[0].asked == 6
    assert capsys.readouterr().err.count("No answer came") == 3


def test_an_answer_that_comes_too_late_is_not_the_next_one(gauges: list[AskedGauge]) -> None:
    gauge = AskedGauge(REPLY, b"", b"+2.00 mm\r\n", b"+3.00 mm\r\n")
    gauges.append(gauge)

    def late_once() -> bool:
        if gauge.asked == 2:
            gauge.late(b"+9.99 mm\r\n")
        return True

    taken = teaching.from_port(gauge.port, 3, None, ASK, late_once)
    assert taken.bursts == (REPLY, b"+2.00 mm\r\n", b"+3.00 mm\r\n")


def test_a_gauge_that_is_silent_at_one_line_setting_is_asked_at_the_next(
    gauges: list[AskedGauge], tmp_path: Path
) -> None:
    gauges.append(AskedGauge(b"", b"\xf8\x80\xfe", REPLY))
    port = tmp_path / "gauge"  # a name of its own: behind /dev/pts there is no line to set
    port.symlink_to(gauges[0].port)
    taken = teaching.from_port(str(port), 3, None, ASK, nobody)
    assert (taken.bursts, taken.link) == ((REPLY,) * 3, Link(baud=2400))
