"""The keys of the terminal, by the means that this system has for them."""

import contextlib
import sys
from typing import Protocol


class KeySource(Protocol):
    """A terminal read key by key, without echo, by one thread until another says stop."""

    def read(self) -> str | None:
        """Keys as soon as there are any; "" at the end of input, None when stopped."""
        ...

    def stop(self) -> None:
        """End the reading, and give the terminal back as it was."""
        ...


def terminal_keys() -> KeySource:
    """The keys of the terminal on stdin: by termios where there is one, else by msvcrt."""
    if sys.platform != "win32":
        with contextlib.suppress(ImportError):
            from daq.cli.posix_keys import PosixKeys  # noqa: PLC0415 - loads termios

            return PosixKeys()
    from daq.cli.windows_keys import WindowsKeys  # noqa: PLC0415 - loads msvcrt

    return WindowsKeys()
