"""The keys of a POSIX terminal: termios without line mode and echo, put back at the end."""

import sys
import termios
from codecs import getincrementaldecoder

from daq.cli.stdin_bytes import stdin_bytes

assert sys.platform != "win32"  # so type checkers know that termios has its names

END_OF_INPUT = b"\x04"  # Ctrl-D


class PosixKeys:
    """The terminal on stdin, key by key, as daq.cli.terminal_keys.KeySource says."""

    def __init__(self) -> None:
        self._input = stdin_bytes()
        self._decoder = getincrementaldecoder("utf-8")("ignore")
        self._fd = sys.stdin.fileno()
        self._before = termios.tcgetattr(self._fd)
        quiet = termios.tcgetattr(self._fd)
        quiet[3] &= ~(termios.ICANON | termios.ECHO)  # Ctrl-C still interrupts
        termios.tcsetattr(self._fd, termios.TCSADRAIN, quiet)

    def read(self) -> str | None:
        """As KeySource."""
        while data := self._input.read():
            if data == END_OF_INPUT:
                return ""
            if keys := self._decoder.decode(data):  # else half a character
                return keys
        return None if data is None else ""

    def stop(self) -> None:
        """As KeySource."""
        self._input.stop()
        termios.tcsetattr(self._fd, termios.TCSADRAIN, self._before)
