"""The operator's keyboard: whole lines from stdin, or keys of a terminal with its own line editor."""

import os
import select
import sys
from collections.abc import Callable

from daq.runner import Item, Keyboard, KeyboardGone, Typed

MOST_LINE = 4096
BACKSPACES = ("\x7f", "\x08")


def stdin_lines(put: Callable[[Item], None]) -> None:
    """Lines of stdin until its end; longer ones than MOST_LINE bytes are cut."""
    stream = sys.stdin.buffer
    while True:
        line = stream.readline(MOST_LINE)
        if not line:
            break
        put(Typed(line.decode("utf-8", "replace").rstrip("\r\n")))
    put(KeyboardGone())


class LineEditor:
    """Keys to lines, for a display that redraws itself: what is typed so far is `text`. Pure."""

    def __init__(self) -> None:
        self.text = ""
        self._in_escape = False

    def press(self, key: str) -> str | None:
        """One character; gives the line when it is ended by Enter."""
        if self._in_escape:
            # Arrow and function keys send ESC [ … letter; none of them means anything here.
            self._in_escape = not (key.isalpha() or key == "~")
        elif key == "\x1b":
            self._in_escape = True
        elif key in "\r\n":
            line, self.text = self.text, ""
            return line
        elif key in BACKSPACES:
            self.text = self.text[:-1]
        elif key == "\x15":  # Ctrl-U
            self.text = ""
        elif key.isprintable() and len(self.text) < MOST_LINE:
            self.text += key
        return None


class TerminalKeys:
    """A terminal read key by key, without echo; the terminal is put back by `restore`."""

    def __init__(self, typing: Callable[[str], None]) -> None:
        import termios  # noqa: PLC0415 - POSIX only, and only with a terminal

        self._typing = typing
        self._fd = sys.stdin.fileno()
        self._termios = termios
        self._before = termios.tcgetattr(self._fd)
        quiet = termios.tcgetattr(self._fd)
        quiet[3] &= ~(termios.ICANON | termios.ECHO)  # Ctrl-C still interrupts
        termios.tcsetattr(self._fd, termios.TCSADRAIN, quiet)
        self._stop_read, self._stop_write = os.pipe()

    def __call__(self, put: Callable[[Item], None]) -> None:
        """Put a line whenever Enter is pressed."""
        editor = LineEditor()
        while True:
            ready, _, _ = select.select([self._fd, self._stop_read], [], [])
            if self._stop_read in ready:
                return
            data = os.read(self._fd, 256)
            if not data or data == b"\x04":
                put(KeyboardGone())
                return
            for key in data.decode("utf-8", "ignore"):
                line = editor.press(key)
                if line is not None:
                    put(Typed(line))
            self._typing(editor.text)

    def restore(self) -> None:
        """Give the terminal back as it was."""
        os.write(self._stop_write, b"s")
        self._termios.tcsetattr(self._fd, self._termios.TCSADRAIN, self._before)


def lines_if_any() -> Keyboard | None:
    """stdin as a keyboard; None if there is no stdin at all."""
    if sys.stdin is None or sys.stdin.closed:
        return None
    return stdin_lines
