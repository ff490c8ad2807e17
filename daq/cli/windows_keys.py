"""The keys of a Windows console, by msvcrt: nothing there can be waited for, so it is asked often.

Source: Microsoft C runtime reference, _kbhit and _getwch.
"""

import signal
import threading
from importlib import import_module
from typing import Protocol

ASK_EVERY_S = 0.02
"""How long a key may lie before it is heard: so short that nobody notices. Chosen by us."""

_FIRST_HALF = "\x00"
_FIRST_HALF_OR_LETTER = "\xe0"
"""What comes before the second half of an arrow or function key; the other one is also a letter."""

_SECOND_HALVES = "GHIKMOPQRS\x85\x86"
"""Home, up, page up, left, right, end, down, page down, insert, delete, F11, F12."""

_END_OF_INPUT = ("\x04", "\x1a")  # Ctrl-D, and Ctrl-Z as Windows has it
_CTRL_C = "\x03"


class Console(Protocol):
    """What is used of msvcrt."""

    def kbhit(self) -> bool:
        """A key waits."""
        ...

    def getwch(self) -> str:
        """The next key, not echoed."""
        ...


class WindowsKeys:
    """The console, key by key, as daq.cli.terminal_keys.KeySource says."""

    def __init__(self, console: Console | None = None) -> None:
        self._console: Console = console or import_module("msvcrt")
        self._is_stopped = threading.Event()

    def read(self) -> str | None:
        """As KeySource; arrow and function keys mean nothing and are passed over."""
        while True:
            while not self._console.kbhit():
                if self._is_stopped.wait(ASK_EVERY_S):
                    return None
            key = self._console.getwch()
            if key in _END_OF_INPUT:
                return ""
            if key == _CTRL_C:  # no signal comes of it while a key is being taken
                signal.raise_signal(signal.SIGINT)
            elif key == _FIRST_HALF:
                self._console.getwch()
            elif key == _FIRST_HALF_OR_LETTER:
                second = self._console.getwch()
                if second not in _SECOND_HALVES:
                    return key + second
            else:
                return key

    def stop(self) -> None:
        """As KeySource; a console is as it was all the time."""
        self._is_stopped.set()
