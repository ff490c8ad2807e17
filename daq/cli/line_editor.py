"""The operator's keyboard: whole lines from stdin, or keys of a terminal with its own line editor.

Both read the descriptor themselves and wait on a stop pipe beside it: a thread that sat in Python's
buffered stdin could not be ended, and would bring the interpreter down at its exit.
"""

import os
import select
import sys
from codecs import getincrementaldecoder
from collections.abc import Callable
from functools import partial

from daq.acquisition.inputs import Item, KeyboardGone, Typed

MOST_LINE = 4096
READ_BYTES = 4096
BACKSPACES = ("\x7f", "\x08")
END_OF_INPUT = b"\x04"  # Ctrl-D


class Stoppable:
    """A descriptor that one thread reads until another says stop."""

    def __init__(self, fd: int) -> None:
        self._fd = fd
        self._stop_read, self._stop_write = os.pipe()

    def read(self) -> bytes | None:
        """Bytes as soon as there are any; b"" at the end of input, None when stopped."""
        ready, _, _ = select.select([self._fd, self._stop_read], [], [])
        if self._stop_read in ready:
            return None
        try:
            return os.read(self._fd, READ_BYTES)
        except OSError:
            return b""  # the terminal is gone

    def stop(self) -> None:
        """End a waiting `read`."""
        os.write(self._stop_write, b"s")


class StdinLines:
    """Lines of stdin until its end; longer ones than MOST_LINE bytes are cut."""

    def __init__(self) -> None:
        self._input = Stoppable(sys.stdin.fileno())

    def __call__(self, put: Callable[[Item], None]) -> None:
        """Put each line, then KeyboardGone."""
        rest = b""
        while data := self._input.read():
            *lines, rest = (rest + data).split(b"\n")
            for line in lines:
                put(Typed(_text(line)))
            rest = rest[:MOST_LINE]
        if data is not None:
            if rest:
                put(Typed(_text(rest)))
            put(KeyboardGone())

    def stop(self) -> None:
        """Read no more."""
        self._input.stop()


def _text(line: bytes) -> str:
    return line[:MOST_LINE].decode("utf-8", "replace").rstrip("\r")


class LineEditor:
    """Keys to lines, for a display that redraws itself: what is typed so far is `text`. Pure."""

    def __init__(self, *, space_sends: bool = False) -> None:
        self.text = ""
        self._escape = ""
        self._space_sends = space_sends

    def press(self, key: str) -> str | None:
        """One character; gives the line when it is ended by Enter."""
        if self._escape == "\x1b" and key in "[O":
            self._escape += key
            return None
        if len(self._escape) > 1:
            # Arrow and function keys: ESC [ numbers letter, or ESC O letter. None means anything.
            if key.isalpha() or key == "~":
                self._escape = ""
            return None
        self._escape = ""  # Escape alone means nothing, and the next key is itself
        if key == "\x1b":
            self._escape = key
        elif key == " " and not self.text and self._space_sends:
            return ""  # the space bar is a send key, as Enter is; no word begins with a space
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
    """A terminal read key by key, without echo; `stop` puts the terminal back as it was.

    `typing` hears what stands on the input line; with `space_sends` the space bar alone is an empty
    line, as Enter alone is.
    """

    def __init__(self, typing: Callable[[str], None], *, space_sends: bool = False) -> None:
        import termios  # noqa: PLC0415 - POSIX only, and only with a terminal

        self._typing = typing
        self._editor = LineEditor(space_sends=space_sends)
        fd = sys.stdin.fileno()
        self._input = Stoppable(fd)
        before = termios.tcgetattr(fd)
        quiet = termios.tcgetattr(fd)
        quiet[3] &= ~(termios.ICANON | termios.ECHO)  # Ctrl-C still interrupts
        termios.tcsetattr(fd, termios.TCSADRAIN, quiet)
        self._restore: Callable[[], None] = partial(
            termios.tcsetattr, fd, termios.TCSADRAIN, before
        )

    def __call__(self, put: Callable[[Item], None]) -> None:
        """Put a line whenever Enter is pressed."""
        editor = self._editor
        decoder = getincrementaldecoder("utf-8")("ignore")
        while data := self._input.read():
            if data == END_OF_INPUT:
                break
            for key in decoder.decode(data):
                line = editor.press(key)
                if line is not None:
                    put(Typed(line))
            self._typing(editor.text)
        if data is not None:
            put(KeyboardGone())

    def stop(self) -> None:
        """Read no more, and give the terminal back."""
        self._input.stop()
        self._restore()


def lines_if_any() -> StdinLines | None:
    """stdin as a keyboard; None if there is no stdin at all."""
    if sys.stdin is None or sys.stdin.closed:
        return None
    return StdinLines()
