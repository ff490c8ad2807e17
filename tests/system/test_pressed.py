"""Gauges without a send button of their own: asked at a press, or streaming until one."""

import os
import threading
import time
from collections.abc import Iterator

import pytest

from tests.system.conftest import PROFILE, Call, Program, Shop

ASKED = PROFILE.replace(
    'kind = "text"\n', 'kind = "text"\n[trigger]\nsend = "Q\\r"\nreply_ms = 200\n'
)


class Answering:
    """The gauge's end of the pty answers each request with what is between its anvils."""

    def __init__(self, shop: Shop) -> None:
        self.size: str | None = None
        self.asked = 0
        self._fd = shop.gauge._master
        self._thread = threading.Thread(target=self._answer, daemon=True)
        self._thread.start()

    def _answer(self) -> None:
        try:
            while os.read(self._fd, 100) == b"Q\r":
                self.asked += 1
                if self.size is not None:
                    os.write(self._fd, self.size.encode() + b"\r\n")
        except OSError:
            return


@pytest.fixture
def asked(shop: Shop) -> Answering:
    shop.profile.write_text(ASKED)
    return Answering(shop)


def press(program: Program, gauge: Answering, kind: str, *sizes: str, key: str = "") -> None:
    for size in sizes:
        gauge.size = size
        program.type(key)
        program.wait_for(kind)


def whole_session(program: Program, gauge: Answering, key: str = "") -> None:
    press(program, gauge, "check_reading", "59.970 mm", "59.970 mm", key=key)
    program.wait_for("check_judged", passed=True)
    press(program, gauge, "reading", "59.980 mm", "59.981 mm", "59.979 mm", "59.980 mm", key=key)
    press(program, gauge, "check_reading", "59.970 mm", "59.970 mm", key=key)
    assert program.end() == 0
    assert program.result["verdict"] == "accepted"


@pytest.mark.parametrize("key", ["", " "])
def test_enter_or_the_space_bar_asks_the_gauge(shop: Shop, asked: Answering, key: str) -> None:
    whole_session(shop.measure(), asked, key)
    assert asked.asked == 8


def test_no_answer_is_recorded_and_a_press_asks_again(shop: Shop, asked: Answering) -> None:
    program = shop.measure()
    program.type("")
    reject = program.wait_for("reject", code="no-reply")
    assert "200 ms" in reject["detail"]
    whole_session(program, asked)


def test_an_answer_that_comes_late_is_held(shop: Shop, asked: Answering) -> None:
    program = shop.measure()
    press(program, asked, "check_reading", "59.970 mm", "59.970 mm")
    asked.size = None
    program.type("")
    program.wait_for("reject", code="no-reply")
    shop.gauge.send("59.980 mm")
    held = program.wait_for("held")
    assert "earlier press" in held["reasons"][0]
    assert held["sent"]["flags"] == ["late"]
    program.type("")
    program.type("drop")
    program.wait_for("dropped")
    assert program.wait_for_talk("keep or drop")  # what is said may be read after the events


def test_without_a_keyboard_its_own_button_still_drives_it(shop: Shop) -> None:
    shop.profile.write_text(ASKED)
    program = shop.measure(has_keyboard=False)
    shop.check(program)
    shop.press(program, "59.980 mm", "59.981 mm", "59.979 mm", "59.980 mm")
    shop.check(program)
    assert program.end() == 0


class Streaming:
    """The gauge's end of the pty sends what is between its anvils, forty times a second."""

    def __init__(self, shop: Shop) -> None:
        self.size = "65.000 mm"
        self.sent = 0
        self._over = threading.Event()
        self._fd = shop.gauge._master
        self._thread = threading.Thread(target=self._stream, daemon=True)
        self._thread.start()

    def _stream(self) -> None:
        while not self._over.wait(0.025):
            os.write(self._fd, self.size.encode() + b"\r\n")
            self.sent += 1

    def settle(self, size: str) -> None:
        """Put another size between the anvils and let it be sent for a while."""
        self.size = size
        since = self.sent
        while self.sent < since + 3:
            time.sleep(0.005)

    def stop(self) -> None:
        self._over.set()
        self._thread.join()


@pytest.fixture
def stream(shop: Shop) -> Iterator[Streaming]:
    gauge = Streaming(shop)
    yield gauge
    gauge.stop()


ROUTE = ("59.970 mm",) * 2 + ("59.980 mm", "59.981 mm", "59.979 mm", "59.980 mm")


def test_of_a_stream_one_reading_a_press_counts(shop: Shop, stream: Streaming) -> None:
    program = shop.measure("--continuous")
    kinds = ["check_reading"] * 2 + ["reading"] * 4 + ["check_reading"] * 2
    for kind, size in zip(kinds, (*ROUTE, "59.970 mm", "59.970 mm"), strict=True):
        stream.settle(size)
        program.type("")
        assert program.wait_for(kind)["sent"]["value"] == size.removesuffix(" mm")
    assert program.end() == 0
    taken = [e for e in program.events if e.get("kind") in ("reading", "check_reading")]
    assert len(taken) == 8 < stream.sent
    assert all(event["sent"]["flags"] == [] for event in taken)


def test_a_stream_alone_stores_nothing(shop: Shop, stream: Streaming) -> None:
    program = shop.measure("--continuous")
    stream.settle("59.970 mm")
    shop.gauge.raw(b"garbage\r\n")
    stream.settle("59.980 mm")
    program.type("note still nothing")
    assert program.wait_for_next()["kind"] == "note"


def test_a_value_that_rests_near_what_is_asked_for_is_taken_by_itself(
    shop: Shop, stream: Streaming
) -> None:
    program = shop.measure("--continuous", "--stable", "0.3", has_keyboard=False)
    kinds = ["check_reading"] * 2 + ["reading"] * 4 + ["check_reading"] * 2
    for kind, size in zip(kinds, (*ROUTE, "59.970 mm", "59.970 mm"), strict=True):
        stream.settle("65.000 mm")  # open: it rests there too, and nobody wants that
        stream.settle("62.000 mm")
        stream.size = size
        assert program.wait_for(kind)["sent"]["value"] == size.removesuffix(" mm")
    assert program.end() == 0
    assert not any(event.get("kind") == "held" for event in program.events)


def test_an_asked_gauge_is_watched_until_it_rests(shop: Shop, asked: Answering) -> None:
    asked.size = "65.000 mm"
    program = shop.measure("--stable", "0.4", has_keyboard=False)
    for size in ("59.970 mm", "59.970 mm"):
        since = asked.asked
        asked.size = "65.000 mm"
        while asked.asked < since + 2:
            time.sleep(0.01)
        asked.size = size
        program.wait_for("check_reading")
    program.wait_for("check_judged", passed=True)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--stable", "1"), "--stable is for a gauge that is asked"),
        (("--continuous",), "There is no keyboard, so nobody could ask"),
        (("--stable", "0.01"), "--stable"),
        (("--wait-back", "-1"), "--wait-back"),
    ],
)
def test_what_cannot_be_is_refused_before_a_session_begins(
    shop: Shop, call: Call, options: tuple[str, ...], said: str
) -> None:
    done = call(
        *("measure", str(shop.plan), "--port", shop.gauge.port, "--profile", str(shop.profile)),
        *("--session", str(shop.session), *options),
    )
    assert done.returncode == 2
    assert said in done.stderr
    assert not shop.session.exists()


def test_a_second_press_before_the_answer_takes_no_second_reading(
    shop: Shop, asked: Answering
) -> None:
    """On a terminal, where a finger may bounce."""
    asked.size = None
    master, slave = os.openpty()
    program = shop.measure(stdin=slave)
    for _ in range(3):
        os.write(master, b"\n")
    program.wait_for("reject", code="no-reply")
    program.interrupt()
    assert program.end() == 130
    assert asked.asked == 1
    assert sum("has not answered yet" in line for line in program.talk) == 2
    os.close(master)
    os.close(slave)


def test_lines_of_a_script_wait_for_the_press_before_them(shop: Shop, asked: Answering) -> None:
    asked.size = "59.970 mm"
    program = shop.measure()
    program.type("\n\n\nnote after three presses\nabandon that is all")
    program.hang_up_keyboard()
    assert program.end() == 1
    assert asked.asked == 3
    kinds = [kind for kind in program.kinds if kind != "stint"]
    check = ["check_reading", "check_reading", "check_judged"]
    assert kinds == ["opened", *check, "reading", "note", "closed"]


def test_a_keyboard_that_ends_where_it_is_the_only_trigger_ends_the_run(
    shop: Shop, stream: Streaming
) -> None:
    program = shop.measure("--continuous")
    program.hang_up_keyboard()
    assert program.end() == 2
    assert any("keyboard is gone" in line for line in program.talk)
    assert any(line.startswith("  jbridge resume ") for line in program.talk)
    assert shop.run("verify", str(shop.session)).end() == 0


ZEROED = (
    PROFILE
    + """[[layout]]
name = "flag"
map = { Z = "zeroed" }
optional = true
"""
)


def test_a_zero_that_is_lost_between_two_presses_of_a_stream_ends_the_stint(
    shop: Shop,
) -> None:
    shop.profile.write_text(ZEROED)
    program = shop.measure("--continuous")
    for _ in range(2):
        program.type("")
        time.sleep(0.2)
        shop.gauge.send("59.970 mm")
        program.wait_for("check_reading")
    program.wait_for("check_judged", passed=True)
    shop.gauge.send("0.000 mmZ")
    program.wait_for("zeroed")
    assert program.wait_for("stint")["stint"] == 2


@pytest.mark.parametrize(
    ("option", "value"), [("--wait-back", "inf"), ("--wait-back", "nan"), ("--stable", "nan")]
)
def test_what_is_no_time_is_refused(shop: Shop, call: Call, option: str, value: str) -> None:
    done = call(
        *("measure", str(shop.plan), "--port", shop.gauge.port, "--profile", str(shop.profile)),
        *(option, value),
    )
    assert done.returncode == 2
    assert option in done.stderr
