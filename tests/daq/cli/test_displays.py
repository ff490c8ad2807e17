"""The redrawn screen on a terminal of its own: drawn anew at each resize, given back at the end."""

import fcntl
import os
import struct
import subprocess
import sys
import termios

from tests.daq.cli.views.shown_sessions import texts
from tests.places import ROOT

PATIENCE_S = 20

SHOW = """
import sys
from daq.cli.displays import LiveShow
from tests.daq.cli.views.shown_sessions import MOMENTS
print("before it", flush=True)
show = LiveShow()
board, beside = MOMENTS[sys.argv[1]]()
show.begun(board)
for text in beside.news:
    show.say(text)
for _ in range(int(sys.argv[2])):
    show.typing(sys.stdin.readline().strip())
show.end()
print("after it", flush=True)
"""


class Screen:
    """A terminal with the live screen of one moment on it, until so many lines were typed."""

    def __init__(self, moment: str, lines: int, columns: int, rows: int, **more: str) -> None:
        self._master, slave = os.openpty()
        self._set_size(columns, rows)
        self._process = subprocess.Popen(
            [sys.executable, "-c", SHOW, moment, str(lines)],
            cwd=ROOT,
            env={**os.environ, "TERM": "xterm-256color", "COLUMNS": "", "LINES": "", **more},
            stdin=slave,
            stdout=slave,
            stderr=slave,
        )
        os.close(slave)
        self.seen = b""

    def _set_size(self, columns: int, rows: int) -> None:
        fcntl.ioctl(self._master, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def resize(self, columns: int, rows: int) -> None:
        """As a window is dragged; what was shown until now is forgotten."""
        self.seen = b""
        self._set_size(columns, rows)

    def wait_for(self, text: str) -> None:
        """Read until it is there."""
        while text.encode() not in self.seen:
            self.seen += os.read(self._master, 65536)

    def type(self, text: str) -> None:
        """A line."""
        os.write(self._master, text.encode() + b"\n")

    def end(self) -> str:
        """All that was sent since the last resize, up to the end."""
        try:
            while data := os.read(self._master, 65536):
                self.seen += data
        except OSError:  # Linux says so that the other end is closed
            pass
        os.close(self._master)
        assert self._process.wait(PATIENCE_S) == 0, self.seen.decode()
        return self.seen.decode()


def telling(columns: int, rows: int) -> str:
    """The line of the bar, which is as wide as the screen lets it be."""
    return next(text for text in texts("normal", columns, rows) if " places, " in text)


def test_a_resize_draws_the_whole_screen_at_once_and_the_end_gives_the_terminal_back() -> None:
    screen = Screen("normal", 1, 100, 30)
    screen.wait_for(telling(100, 30))
    for columns, rows in ((60, 20), (48, 16), (80, 24), (200, 60)):
        screen.resize(columns, rows)
        screen.wait_for(telling(columns, rows))
    screen.type("note x")
    said = screen.end()
    left, shown = said.split("\x1b[?1049l")
    assert "> \x1b[0mnote x" in left, "drawn, beside the terminal's own echo"
    assert "after it" in shown


def test_without_colour_no_colour_is_sent_and_all_is_said() -> None:
    screen = Screen("below", 1, 80, 24, NO_COLOR="1")
    screen.wait_for("BELOW, not proven yet")
    screen.type("")
    said = screen.end()
    assert "! M3 is below its low limit" in said
    assert "\x1b[31m" not in said
    assert "\x1b[1;31m" not in said
    assert "\x1b[38;" not in said
