"""`jbridge simulate` as a program of its own: its ports, its options, what it refuses."""

from __future__ import annotations

import itertools
import json
import os
import select
import subprocess
import sys
import termios
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from daq.cli.app import run
from tests.places import ROOT

PATIENCE_S = 20.0


class Simulator:
    """The program, driven by lines, and the port it has by now."""

    def __init__(self, *options: str) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "daq", "simulate", "--json", "--repeatability", "0", *options],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        self.reader = -1
        self.port = self.next_port()
        self.open(self.port)

    def next_port(self) -> str:
        assert self.process.stdout is not None
        return str(json.loads(self.process.stdout.readline())["port"])

    def open(self, port: str) -> None:
        if self.reader >= 0:
            os.close(self.reader)
        self.reader = os.open(port, os.O_RDWR | os.O_NOCTTY)

    def type(self, *lines: str) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write("".join(f"{line}\n" for line in lines))
        self.process.stdin.flush()

    def take(self, count: int) -> bytes:
        got = b""
        while len(got) < count and select.select([self.reader], [], [], PATIENCE_S)[0]:
            got += os.read(self.reader, count - len(got))
        return got

    def ask(self, request: bytes, count: int) -> bytes:
        os.write(self.reader, request)
        return self.take(count)

    def end(self) -> tuple[int, str]:
        _, errors = self.process.communicate(timeout=PATIENCE_S)
        os.close(self.reader)
        return self.process.returncode, errors


@pytest.fixture
def simulated() -> Iterator[type[Simulator]]:
    """Simulators, none of which outlives its test."""
    started: list[Simulator] = []

    class Started(Simulator):
        def __init__(self, *options: str) -> None:
            started.append(self)
            super().__init__(*options)

    yield Started
    for one in started:
        one.process.kill()
        one.process.communicate()


Refused = Callable[..., str]


@pytest.fixture
def refused(capsys: pytest.CaptureFixture[str]) -> Refused:
    """What is said of options that are refused."""

    def said(*options: str) -> str:
        assert run(["simulate", *options]) == 2
        return " ".join(capsys.readouterr().err.split())

    return said


def test_a_modbus_gauge_answers_at_its_place(simulated: type[Simulator]) -> None:
    gauge = simulated(
        *("--format", "modbus-int32", "--channel", "17", "--register", "256", "--words", "little")
    )
    gauge.type("stack 59.982 mm", "")
    # The empty line sends a reading unasked: 59982 is EA4E hex, its low word first.
    assert gauge.take(9)[:7] == bytes.fromhex("11 03 04 EA 4E 00 00")
    request = bytes.fromhex("11 03 01 00 00 02 C7 67")
    assert gauge.ask(request, 9)[:7] == bytes.fromhex("11 03 04 EA 4E 00 00")
    gauge.type("answer exception 2", "raw 2B")
    assert gauge.take(1) == b"+"
    assert gauge.ask(request, 5) == bytes.fromhex("11 83 02 C1 34")
    assert gauge.end()[0] == 0


def test_any_text_gauge_can_be_one_that_is_asked(simulated: type[Simulator]) -> None:
    gauge = simulated("--format", "number-crlf", "--asked", r"R\x45AD?\r", "--echo")
    gauge.type("stack 59.982 mm", "raw 2B")
    assert gauge.take(1) == b"+"
    assert gauge.ask(b"READ?\r", 14) == b"READ?\r59.982\r\n"
    code, told = gauge.end()
    assert code == 0
    assert "Traceback" not in told


def test_a_stream_begins_with_something_in_the_gauge(simulated: type[Simulator]) -> None:
    gauge = simulated("--format", "number-crlf", "--stream", "100")
    gauge.type("stack 50 mm")
    assert gauge.take(80) == b"50.000\r\n" * 10
    gauge.type("stream off")
    assert gauge.end()[0] == 0


def moments(gauge: Simulator, count: int) -> list[float]:
    """When so many frames of eight bytes came, in seconds since the first."""
    came = []
    for _ in range(count):
        assert gauge.take(8) == b"50.000\r\n"
        came.append(time.monotonic())
    return [at_s - came[0] for at_s in came]


def test_presses_by_word_are_spaced_and_enter_is_not(simulated: type[Simulator]) -> None:
    gauge = simulated("--format", "number-crlf", "--press-every", "0.4")
    gauge.type("stack 50 mm", "press", "press 2", "press 2 every 0.1", "")
    came = moments(gauge, 6)
    # 0.4 s between presses by word, 0.1 s where the script says so; Enter waits for nothing.
    gaps = [later - sooner for sooner, later in itertools.pairwise(came)]
    assert all(0.35 < gap < 5 for gap in gaps[:3])
    assert 0.05 < gaps[3] < gaps[0] + 5
    assert gauge.end()[0] == 0


def test_a_script_s_presses_are_a_second_apart_unless_told(
    simulated: type[Simulator], tmp_path: Path
) -> None:
    path = tmp_path / "day.txt"
    path.write_text("stack 50 mm\nwait 0.5\npress\npress 2 every 0.2\n")
    first, second, third = moments(simulated("--format", "number-crlf", "--script", str(path)), 3)
    assert 0.9 < second - first < 5
    assert 0.1 < third - second < 0.9


def test_faults_are_replayed_by_the_seed(simulated: type[Simulator]) -> None:
    def heard(seed: str) -> bytes:
        gauge = simulated(
            *("--fault", "flip=0.5", "--fault", "split", "--seed", seed, "--press-every", "0")
        )
        gauge.type("stack 50 mm", "press 20")
        got = gauge.take(20 * 12)
        gauge.end()
        return got

    assert heard("3") == heard("3")
    assert heard("3") != heard("4")


def test_unplugged_and_back_under_its_link_and_under_another(
    simulated: type[Simulator], tmp_path: Path
) -> None:
    path, other = tmp_path / "gauge", tmp_path / "other"
    gauge = simulated("--link", str(path), "--format", "number-crlf")
    gauge.type("stack 50 mm", "unplug", "replug", "")
    assert gauge.next_port() == str(path)
    gauge.open(str(path))
    assert gauge.take(8) == b"50.000\r\n"
    gauge.type("unplug", f"replug {other}", "press")
    assert gauge.next_port() == str(other)
    gauge.open(str(other))
    assert gauge.take(8) == b"50.000\r\n"
    assert not path.is_symlink()
    assert gauge.end()[0] == 0
    assert not other.is_symlink()


def test_a_cable_that_falls_out_comes_back_elsewhere_by_itself(
    simulated: type[Simulator], tmp_path: Path
) -> None:
    gauge = simulated("--link", str(tmp_path / "gauge"), "--fault", "elsewhere=1")
    gauge.type("stack 50 mm", "")
    assert gauge.next_port() == str(tmp_path / "gauge-2")
    assert gauge.end()[0] == 0


def test_a_script_is_played_and_requests_are_answered_meanwhile(
    simulated: type[Simulator], tmp_path: Path
) -> None:
    script = tmp_path / "script.txt"
    script.write_text("stack 59.982 mm\nreply 0\nwait 1.5\n")
    gauge = simulated("--format", "ask-number-unit-cr", "--script", str(script))
    assert gauge.ask(b"?\r", 10) == b"59.982 mm\r"
    assert gauge.end()[0] == 0


def test_the_list_names_everything_there_is() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "daq", "simulate", "--list"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
        check=True,
    )
    for word in (
        "bcd-nibbles-xor",
        "modbus-int32",
        "packets",
        "elsewhere",
        "answer exception CODE",
    ):
        assert f"  {word} " in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 100


@pytest.mark.parametrize(
    ("options", "reason"),
    [
        (("--format", "wonder"), "unknown; known: number-unit-crlf,"),
        (("--fault", "fire"), "unknown fault 'fire'; known: split,"),
        (("--fault", "drop=2"), "a chance from 0 to 1, not '2'"),
        (("--stream", "0"), "0.0 is not in the range"),
        (("--words", "little"), "has no registers; modbus-int32"),
        (("--format", "modbus-int32", "--register", "70000"), "addresses are 0 to 65535"),
        (("--format", "modbus-int32", "--channel", "300"), "from 1 to 247, not 300"),
        (("--format", "modbus-int32", "--asked", "?"), "by Modbus requests, not by a text"),
        (("--asked", ""), "cannot be asked with an empty text"),
        (("--asked", "√"), "cannot be sent as one byte"),
        (("--channel", "0"), "channels count from 1, not 0"),
        (("--link", "/nowhere/at/all"), "cannot make the link"),
    ],
)
def test_what_it_refuses(refused: Refused, options: tuple[str, ...], reason: str) -> None:
    assert reason in refused(*options)


@pytest.mark.parametrize("number", ["nan", "inf", "-inf"])
@pytest.mark.parametrize(
    "option", ["--bias", "--drift", "--repeatability", "--reply-ms", "--stream"]
)
def test_what_is_no_number_is_refused_by_the_option(
    refused: Refused, option: str, number: str
) -> None:
    assert f"Invalid value for '{option}': {number} is not" in refused(option, number)


def test_a_terminal_of_its_own_is_raw(simulated: type[Simulator]) -> None:
    gauge = simulated()
    assert not termios.tcgetattr(gauge.reader)[3] & termios.ECHO
    assert gauge.end()[0] == 0
