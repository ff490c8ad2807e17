"""The operator's keyboard: whole lines of stdin, or a terminal's keys with a line editor."""

import sys
from collections.abc import Callable

from daq.acquisition.inputs import Item, KeyboardGone, Typed
from daq.cli.stdin_bytes import stdin_bytes
from daq.cli.terminal_keys import terminal_keys

MOST_LINE = 4096
BACKSPACES = ("\x7f", "\x08")


class StdinLines:
    """Lines of stdin until its end; longer ones than MOST_LINE bytes are cut."""

    def __init__(self) -> None:
        self._input = stdin_bytes()

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
        self._typing = typing
        self._editor = LineEditor(space_sends=space_sends)
        self._keys = terminal_keys()

    def __call__(self, put: Callable[[Item], None]) -> None:
        """Put a line whenever Enter is pressed."""
        editor = self._editor
        while keys := self._keys.read():
            for key in keys:
                line = editor.press(key)
                if line is not None:
                    put(Typed(line))
            self._typing(editor.text)
        if keys is not None:
            put(KeyboardGone())

    def stop(self) -> None:
        """Read no more, and give the terminal back."""
        self._keys.stop()


def lines_if_any() -> StdinLines | None:
    """stdin as a keyboard; None if there is no stdin at all."""
    if sys.stdin is None or sys.stdin.closed:
        return None
    return StdinLines()
