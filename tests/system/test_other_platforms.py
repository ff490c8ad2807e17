"""Whole sessions where nothing is left that Windows lacks: see without_posix.

This shows that the program's own code does without those things. It does not show Windows.
"""

import csv
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from simulator.links import TcpLink
from tests.places import ROOT
from tests.system.conftest import PATIENCE_S, PROFILE, Call, Program, Shop

BOOTSTRAP = "tests.system.without_posix"
GOOD = ("59.980 mm", "59.981 mm", "59.982 mm", "59.980 mm")
STACK = ("59.970 mm", "59.970 mm")


class NetGauge:
    """A gauge behind a serial-to-network converter."""

    def __init__(self) -> None:
        self._link = TcpLink()
        self.port = self._link.port

    def send(self, text: str) -> None:
        """One frame, once somebody listens."""
        assert self._link.wait_for_client(PATIENCE_S)
        assert self._link.send(text.encode() + b"\r\n")

    def close(self) -> None:
        """Hang up."""
        self._link.close()


@pytest.fixture
def gauge() -> Iterator[NetGauge]:
    """A gauge on the network."""
    gauge = NetGauge()
    yield gauge
    gauge.close()


def begun(shop: Shop, port: str, *more: str, **options: Any) -> Program:
    """`measure` on that port, without POSIX; the first stint waits."""
    program = shop.run(
        *("measure", str(shop.plan), "--port", port, "--profile", str(shop.profile)),
        *("--session", str(shop.session), *more),
        module=BOOTSTRAP,
        **options,
    )
    program.wait_for("stint")
    return program


def press(program: Program, gauge: NetGauge, kind: str, *values: str) -> None:
    for value in values:
        gauge.send(value)
        program.wait_for(kind)


def values_in(session: Path) -> list[str]:
    with (session / "readings.csv").open(newline="", encoding="utf-8") as file:
        return [row["value"] for row in csv.DictReader(file)]


def refused_names(folder: Path) -> list[str]:
    """Names of files that Windows would not take. Source: Naming Files, Paths, and Namespaces."""
    bad = re.compile(r'[<>:"/\\|?*\x00-\x1f]|[ .]$')
    return [path.name for path in folder.rglob("*") if bad.search(path.name)]


def test_a_session_with_words_on_stdin_runs_to_its_tables(
    shop: Shop, gauge: NetGauge, call: Call
) -> None:
    program = begun(shop, gauge.port, "--operator", "Ada")
    press(program, gauge, "check_reading", *STACK)
    program.wait_for("check_judged", passed=True)
    press(program, gauge, "reading", "59.985 mm")
    program.type("back")
    program.wait_for("void")
    program.type("note warm")
    program.wait_for("note")
    press(program, gauge, "reading", *GOOD)
    press(program, gauge, "check_reading", *STACK)
    assert program.end() == 0, program.talk
    assert program.result["verdict"] == "accepted"
    assert values_in(shop.session) == ["59.980", "59.981", "59.982", "59.980"]
    # Bytes as they are: a line ends in LF alone, and the chain is that of any other system.
    assert b"\r" not in (shop.session / "ledger.jsonl").read_bytes()
    assert call("verify", str(shop.session)).returncode == 0
    assert refused_names(shop.home) == refused_names(shop.session) == []
    assert len(list((shop.home / "history").glob("*.jsonl"))) == 1


def test_a_session_that_was_interrupted_is_resumed_and_its_half_line_kept(
    shop: Shop, gauge: NetGauge, call: Call
) -> None:
    program = begun(shop, gauge.port)
    press(program, gauge, "check_reading", *STACK)
    program.wait_for("check_judged", passed=True)
    press(program, gauge, "reading", *GOOD[:2])
    program.interrupt(signal.SIGINT)
    assert program.end() == 130, program.talk
    with (shop.session / "ledger.jsonl").open("ab") as file:
        file.write(b'{"seq":9,')
    program = shop.run("resume", str(shop.session), module=BOOTSTRAP)
    assert program.wait_for("resumed")["torn_bytes"] == 9
    press(program, gauge, "check_reading", *STACK)
    press(program, gauge, "reading", *GOOD[2:])
    press(program, gauge, "check_reading", *STACK)
    assert program.end() == 0, program.talk
    assert call("verify", str(shop.session)).returncode == 0
    (torn,) = shop.session.glob("torn-*.bin")
    assert torn.read_bytes() == b'{"seq":9,'


def test_the_end_of_stdin_leaves_the_send_button_to_drive_the_session(
    shop: Shop, gauge: NetGauge
) -> None:
    program = begun(shop, gauge.port)
    program.hang_up_keyboard()
    press(program, gauge, "check_reading", *STACK)
    press(program, gauge, "reading", *GOOD)
    press(program, gauge, "check_reading", *STACK)
    assert program.end() == 0, program.talk


ECHOED = PROFILE.replace(
    'kind = "text"\n', 'kind = "text"\n[trigger]\nsend = "59.970 mm\\r\\n"\nreply_ms = 2000\n'
)
"""A gauge that is asked; on a port that gives back what is sent, the request is the answer."""


def test_a_session_over_a_loop_runs_by_enter_alone(shop: Shop, call: Call) -> None:
    shop.profile.write_text(ECHOED)
    program = begun(shop, "loop://")
    for kind in (*["check_reading"] * 2, *["reading"] * 4, *["check_reading"] * 2):
        program.type("")
        program.wait_for(kind)
    assert program.end() == 0, program.talk
    assert values_in(shop.session) == ["59.970"] * 4
    assert call("verify", str(shop.session)).returncode == 0


class Console:
    """The program at a terminal, its keys played: what it stores is seen in the ledger."""

    def __init__(self, shop: Shop, port: str) -> None:
        self._ledger = shop.session / "ledger.jsonl"
        self._keys, theirs = socket.socketpair()
        self._screen, terminal = os.openpty()
        self.shown = b""
        self.process = subprocess.Popen(
            [
                *(sys.executable, "-m", BOOTSTRAP, "measure", str(shop.plan), "--port", port),
                *("--profile", str(shop.profile), "--session", str(shop.session)),
                *("--home", str(shop.home)),
            ],
            stdin=terminal,
            stdout=terminal,
            stderr=terminal,
            cwd=ROOT,
            env={**os.environ, "JBRIDGE_KEYS": str(theirs.fileno()), "TERM": "xterm"},
            pass_fds=[theirs.fileno()],
        )
        theirs.close()
        os.close(terminal)
        self._reading = threading.Thread(target=self._look, daemon=True)
        self._reading.start()

    def _look(self) -> None:
        while True:
            try:
                self.shown += os.read(self._screen, 65536)
            except OSError:  # the program has ended
                return

    def press_keys(self, keys: str) -> None:
        """As msvcrt gives them."""
        self._keys.sendall(keys.encode())

    def wait_for(self, kind: str, count: int = 1) -> None:
        """Until so many lines of a kind are stored."""
        wanted, deadline_s = f'"kind":"{kind}"'.encode(), time.monotonic() + PATIENCE_S
        while not self._ledger.exists() or self._ledger.read_bytes().count(wanted) < count:
            assert self.process.poll() is None, self.shown.decode()
            assert time.monotonic() < deadline_s, (kind, self.shown.decode())
            time.sleep(0.02)

    def wait_to_be_shown(self, words: str) -> None:
        """Until the screen says so."""
        deadline_s = time.monotonic() + PATIENCE_S
        while words.encode() not in self.shown:
            assert self.process.poll() is None, self.shown.decode()
            assert time.monotonic() < deadline_s, (words, self.shown.decode())
            time.sleep(0.02)

    def end(self) -> int:
        """Its exit code."""
        code = self.process.wait(PATIENCE_S)
        self._reading.join(PATIENCE_S)
        return code

    def clean_up(self) -> None:
        """End it if it still runs."""
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        self._keys.close()
        os.close(self._screen)


@pytest.fixture
def console(shop: Shop, gauge: NetGauge) -> Iterator[Console]:
    """The program at a terminal."""
    console = Console(shop, gauge.port)
    yield console
    console.clean_up()


def test_a_session_at_a_terminal_hears_the_keys_of_msvcrt(
    shop: Shop, gauge: NetGauge, console: Console, call: Call
) -> None:
    console.wait_to_be_shown("reading 1 of 2")
    for value in STACK:
        gauge.send(value)
    console.wait_for("check_judged")
    gauge.send("59.985 mm")
    console.wait_for("reading")
    # An arrow, a letter taken back, F1: the word is "back" all the same.
    console.press_keys("b\xe0Hax\x08ck\x00;\r")
    console.wait_for("void")
    console.press_keys("note it was \xe0 part\r")
    console.wait_for("note")
    for value in GOOD:
        gauge.send(value)
    console.wait_for("reading", 5)
    for value in STACK:
        gauge.send(value)
    assert console.end() == 0, console.shown.decode()
    ledger = (shop.session / "ledger.jsonl").read_text(encoding="utf-8")
    assert '"text":"it was \xe0 part"' in ledger
    assert values_in(shop.session) == ["59.980", "59.981", "59.982", "59.980"]
    assert call("verify", str(shop.session)).returncode == 0


def test_what_was_taken_away_is_gone() -> None:
    """So that the sessions above run without it."""
    gone = (
        "import tests.system.without_posix as w; w.take_away()\n"
        "import os, select, signal, time, sys\n"
        "for name in w.MODULES.split():\n"
        "    try: __import__(name)\n"
        "    except ImportError: continue\n"
        "    sys.exit(name)\n"
        "left = [n for m, names in w.NAMES.items() for n in names.split() "
        "if hasattr(sys.modules[m], n)]\n"
        "sys.exit(' '.join(left) or 0)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", gone], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr.strip()) == (0, "")
