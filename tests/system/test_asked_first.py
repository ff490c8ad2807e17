"""At a terminal a word that would lose much is asked about once, by the real program on a pty."""

import fcntl
import json
import os
import struct
import subprocess
import sys
import termios
from collections.abc import Iterator

import pytest

from tests.places import ROOT
from tests.system.conftest import Shop

PATIENCE_S = 30


class AtTerminal:
    """The program on a terminal of 80 by 24."""

    def __init__(self, shop: Shop) -> None:
        self._master, slave = os.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        self.process = subprocess.Popen(
            [
                *(sys.executable, "-m", "daq", "measure", str(shop.plan)),
                *("--port", shop.gauge.port, "--profile", str(shop.profile)),
                *("--session", str(shop.session), "--home", str(shop.home)),
            ],
            cwd=ROOT,
            env={**os.environ, "TERM": "xterm", "COLUMNS": "", "LINES": ""},
            stdin=slave,
            stdout=slave,
            stderr=slave,
        )
        os.close(slave)
        self.seen = b""

    def wait_for(self, words: str) -> None:
        """Read until the screen has said this since it was asked last."""
        while words.encode() not in self.seen:
            self.seen += os.read(self._master, 65536)
        self.seen = b""

    def type(self, line: str) -> None:
        """A line."""
        os.write(self._master, line.encode() + b"\r")

    def end(self) -> int:
        """The exit code."""
        try:
            while os.read(self._master, 65536):
                pass
        except OSError:  # Linux says so that the other end is closed
            pass
        return self.process.wait(PATIENCE_S)

    def clean_up(self) -> None:
        """End it if it still runs."""
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        os.close(self._master)


@pytest.fixture
def terminal(shop: Shop) -> Iterator[AtTerminal]:
    """The program at a terminal."""
    terminal = AtTerminal(shop)
    yield terminal
    terminal.clean_up()


def test_a_stop_that_would_reject_is_done_when_it_is_typed_again(
    shop: Shop, terminal: AtTerminal
) -> None:
    terminal.wait_for("reading 1 of 2: press send")
    terminal.type("stop the shift ends")
    terminal.wait_for("the gauge has not passed a check yet. Type")
    terminal.type("note it stays open")
    terminal.wait_for("Noted: it stays open")
    terminal.type("stop")  # the question is gone, and this one lacks its reason
    terminal.wait_for("stop needs a reason")
    terminal.type("stop the shift ends")
    terminal.wait_for("? stop now rejects the session")
    terminal.type("stop")
    assert terminal.end() == 1
    lines = (shop.session / "ledger.jsonl").read_text(encoding="utf-8").splitlines()
    closed = json.loads(lines[-1])
    assert (closed["kind"], closed["verdict"]) == ("closed", "rejected")
    assert closed["reasons"][0] == "stopped: the shift ends"
