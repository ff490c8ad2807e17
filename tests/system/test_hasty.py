"""Readings quicker than a hand, at the real program on a pty: presses that nobody meant count
nowhere, what came before it was asked for is no reading, and a word is heard in any flood.
"""

import json
import os
import re
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from daq.storage.history_file import append
from tests.daq.gauges.history_builders import DAY_US, near
from tests.system.conftest import PLAN, Call, Program, PtyGauge, Shop

HANDS = PLAN.replace('least_interval = "0 s"\n', "")
"""The plan with the least intervals that it has where it says none."""

ROUTE = ("front/0", "front/90", "rear/0", "rear/90")
PAUSE_S = 0.8
"""From one press to the next, as a quick hand needs it."""


@pytest.fixture
def hands(shop: Shop) -> Shop:
    """A shop whose plan is for hands."""
    shop.plan.write_text(HANDS)
    return shop


def press(shop: Shop, value: str, pause_s: float = PAUSE_S) -> None:
    """A press with its time before it."""
    time.sleep(pause_s)
    shop.gauge.send(f"{value} mm")


def double(shop: Shop, value: str, again: str, apart_s: float = 0.16) -> None:
    """A press whose frame comes twice."""
    press(shop, value)
    time.sleep(apart_s)
    shop.gauge.send(f"{again} mm")


def placed(program: Program) -> dict[str, str]:
    """The value that was read at each place."""
    readings = [event for event in program.events if event.get("kind") == "reading"]
    return {
        f"{each['place']['station']}/{each['place']['angle_deg']}": each["sent"]["value"]
        for each in readings
    }


# Twice --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("off", [0, 1])
def test_a_double_press_fills_no_second_place(hands: Shop, call: Call, off: int) -> None:
    """160 ms apart, the two frames equal or not; nobody is at the keyboard."""
    program = hands.measure(has_keyboard=False)
    for _ in range(2):
        press(hands, "59.970")
        program.wait_for("check_reading")
    for last in (1, 3, 5, 7):
        double(hands, f"59.98{last}", f"59.98{last + off}")
        program.wait_for("dropped")
    for _ in range(2):
        press(hands, "59.970")
        program.wait_for("check_reading")
    assert program.end() == 0
    assert program.result["verdict"] == "accepted"
    assert placed(program) == dict(
        zip(ROUTE, ("59.981", "59.983", "59.985", "59.987"), strict=True)
    )
    held = [event for event in program.events if event.get("kind") == "held"]
    assert len(held) == 4
    assert re.fullmatch(
        r"that came 0\.\d s after M1 front 0°: pressed twice\?", held[0]["reasons"][0]
    )
    assert call("verify", str(hands.session)).returncode == 0


def test_the_operator_is_asked_in_plain_words_and_may_keep_it(hands: Shop) -> None:
    program = hands.measure()
    for _ in range(2):
        press(hands, "59.970")
        program.wait_for("check_reading")
    double(hands, "59.981", "59.983")
    program.wait_for("held")
    said = program.wait_for_talk("> Held")
    assert re.search(r"59\.983 mm - that came 0\.\d s after M1 front 0°: pressed twice\?", said)
    program.type("keep")
    assert program.wait_for("kept")["place"]["angle_deg"] == 90
    program.type("abandon seen")
    assert program.end() == 1


def test_presses_a_third_of_a_second_apart_do_not_run_on_along_the_route(hands: Shop) -> None:
    program = hands.measure(has_keyboard=False)
    try:
        for number in range(20):
            press(hands, "59.970" if number < 2 else f"59.98{number % 10}", 0.35)
    except OSError:
        pass  # it has ended, and closed the port
    assert program.end() == 1
    assert program.result["verdict"] == "abandoned"
    assert placed(program) == {}


# A stream -----------------------------------------------------------------------------------------


class Stream:
    """A gauge that sends the same without end, so many frames a second, or as many as are taken."""

    def __init__(self, gauge: PtyGauge, value: str, every_s: float, at_once: int = 1) -> None:
        self.sent = 0
        self._gauge, self._frames = gauge, f"{value} mm\r\n".encode() * at_once
        self._every_s, self._at_once = every_s, at_once
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._send, daemon=True)
        self._thread.start()

    def _send(self) -> None:
        fd = os.dup(self._gauge._master)
        os.set_blocking(fd, False)
        due_s = time.monotonic()
        while not self._over.wait(max(0.0, due_s - time.monotonic())):
            due_s += self._every_s
            try:
                self.sent += os.write(fd, self._frames) * self._at_once // len(self._frames)
            except BlockingIOError:
                due_s = time.monotonic() + 0.001  # nobody takes them: they run over
        os.close(fd)

    def stop(self) -> None:
        self._over.set()
        self._thread.join()


@pytest.fixture
def streams() -> Iterator[list[Stream]]:
    """Streams that a test began."""
    begun: list[Stream] = []
    yield begun
    for stream in begun:
        stream.stop()


def test_a_stream_left_on_the_stack_is_abandoned_with_what_to_do(
    hands: Shop, streams: list[Stream]
) -> None:
    program = hands.measure(has_keyboard=False)
    streams.append(Stream(hands.gauge, "59.970", 0.1))
    assert program.end() == 1
    assert program.result["verdict"] == "abandoned"
    assert "10 held readings in a row at the stack" in program.result["reasons"][0]
    assert "--continuous" in program.result["reasons"][0]
    assert program.kinds.count("check_reading") == 1
    assert placed(program) == {}


def test_a_stream_left_on_the_stack_before_somebody_s_eyes_names_continuous_too(
    hands: Shop, streams: list[Stream]
) -> None:
    program = hands.measure()
    streams.append(Stream(hands.gauge, "59.970", 0.1))
    program.wait_for_talk("pressed twice?")
    program.wait_for_talk("5 in a row came too soon: a gauge that sends by itself")
    program.type("abandon it was left on")
    assert program.end() == 1
    assert program.kinds.count("check_reading") == 1
    assert placed(program) == {}


def test_prove_counts_no_stream(hands: Shop, streams: list[Stream]) -> None:
    program = hands.run(
        *("prove", "--port", hands.gauge.port, "--profile", str(hands.profile)),
        *("--stack", "59.97 mm", "--max-error", "0.002 mm"),
        has_keyboard=False,
    )
    program.wait_for_talk("press send")
    streams.append(Stream(hands.gauge, "59.970", 0.1))
    assert program.end() == 1
    said = program.wait_for_talk("10 readings in a row did not count")
    assert "--continuous" in said


def test_with_continuous_the_same_stream_is_measured_by_presses(
    hands: Shop, streams: list[Stream]
) -> None:
    streams.append(Stream(hands.gauge, "59.970", 0.05))
    program = hands.measure("--continuous")
    program.type("\n\n\nabandon three lines of a script, each in its time")
    assert program.end() == 1
    assert program.kinds.count("check_reading") == 2
    assert placed(program) == {"front/0": "59.970"}


# Before it was asked for --------------------------------------------------------------------------


def out_of_control(shop: Shop) -> None:
    """The shop's gauge has a file, and a history that asks for a reason to use it."""
    for folder, name, text in (
        ("profiles", "bench-gauge.toml", shop.profile.read_text()),
        (
            "gauges",
            "mic.toml",
            f'schema = 1\nprofile = "bench-gauge"\nport = "{shop.gauge.port}"\n',
        ),
    ):
        (shop.home / folder).mkdir(parents=True)
        (shop.home / folder / name).write_text(text)
    errors = [0.4, 0.9, 0.2, 0.7, 0.5, 0.3, 6.0]
    start = time.time_ns() // 1000 - len(errors) * DAY_US
    append("mic", shop.home, [(start + n * DAY_US, near(e)) for n, e in enumerate(errors)])


def test_presses_while_the_question_at_the_start_waits_are_no_readings(hands: Shop) -> None:
    out_of_control(hands)
    master, slave = os.openpty()
    program = hands.run(
        *("measure", str(hands.plan), "--gauge", "mic", "--session", str(hands.session)),
        stdin=slave,
    )
    program.wait_for_talk("Note: ")
    for _ in range(3):
        press(hands, "59.970")
    os.write(master, b"the stack was dirty\n")
    program.wait_for("stint")
    whys = [program.wait_for("dropped")["why"] for _ in range(3)]
    assert whys == ["it came before the stack was asked for"] * 3
    for _ in range(2):
        press(hands, "59.970")
        program.wait_for("check_reading")
    assert program.wait_for("check_judged")["readings"] == 2
    program.interrupt()
    assert program.end() == 130
    counted = [event for event in program.events if event.get("kind") == "check_reading"]
    assert len(counted) == 2
    os.close(master)
    os.close(slave)


# A flood ------------------------------------------------------------------------------------------

HEARD_WITHIN_S = 0.5
"""What is promised; the test allows a busy machine three times as long."""


@pytest.mark.parametrize(
    ("frame", "word", "kind"),
    [
        ("61.000", "abandon enough", "closed"),
        ("61.000", "note still there", "note"),
        ("nonsense", "stop enough", "closed"),
    ],
)
def test_a_typed_word_is_heard_in_a_flood_that_leaves_a_small_ledger(
    shop: Shop, streams: list[Stream], frame: str, word: str, kind: str
) -> None:
    """Readings that are asked about, and frames that are none, as fast as the port takes them."""
    program = shop.measure()
    streams.append(Stream(shop.gauge, frame, 0.002, at_once=10))
    time.sleep(2.5)
    sent, begun_s = streams[0].sent, time.monotonic()
    program.type(word)
    program.wait_for(kind)
    heard_s = time.monotonic() - begun_s
    size = (shop.session / "ledger.jsonl").stat().st_size
    program.type("abandon it")
    program.end()
    print(json.dumps({"heard_s": round(heard_s, 3), "frames": sent, "ledger_bytes": size}))
    assert sent > 2000
    assert heard_s < 3 * HEARD_WITHIN_S
    assert size < 50_000
    lines = (shop.session / "ledger.jsonl").read_text(encoding="utf-8").splitlines()
    told = [json.loads(line) for line in lines]
    folded = [each for each in told if each["kind"] in ("dropped", "reject") and each["count"] > 1]
    assert folded
    assert all(each["raw_hex"] and each["last_raw_hex"] for each in folded)


def test_keep_and_drop_are_heard_in_a_flood_too(shop: Shop, streams: list[Stream]) -> None:
    program = shop.measure()
    streams.append(Stream(shop.gauge, "61.000", 0.002, at_once=10))
    program.wait_for("held")
    time.sleep(1.0)
    for _ in range(3):
        begun_s = time.monotonic()
        program.type("drop")
        program.wait_for("dropped", why="operator")
        assert time.monotonic() - begun_s < 3 * HEARD_WITHIN_S
        program.wait_for("held")
    program.type("abandon it")
    assert program.end() == 1


def test_what_was_pressed_before_an_answer_in_a_flood_is_of_no_place(
    shop: Shop, streams: list[Stream], tmp_path: Path
) -> None:
    """Right after `drop` the flood goes on with values that fit: none that came before the answer
    is taken, however full the queue was.
    """
    program = shop.measure()
    shop.check(program)
    shop.gauge.send("61.000 mm")
    program.wait_for("held")
    streams.append(Stream(shop.gauge, "59.980", 0.002, at_once=10))
    time.sleep(1.0)
    streams.pop().stop()
    program.type("drop")
    program.wait_for("dropped", why="operator")
    program.type("note all that lay there was met")
    program.wait_for("note")
    program.type("abandon it")
    assert program.end() == 1
    assert placed(program) == {}
