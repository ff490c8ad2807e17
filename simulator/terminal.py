"""Terminals of this machine as bare wires, where the system has such."""

from __future__ import annotations

import os
import sys

from simulator.errors import LinkError

_NONE = "this system has none"


def pseudo_terminal() -> tuple[int, int, str]:
    """A new pair: the gauge's descriptor, which never blocks, the reader's, and the reader's path.

    Raises LinkError.
    """
    if sys.platform == "win32":
        raise LinkError(f"no pseudo-terminal to be had: {_NONE}")
    else:  # said so for the type checker, which knows the systems
        try:
            import tty  # noqa: PLC0415 - POSIX only

            gauge, reader = os.openpty()
        except ImportError as error:
            raise LinkError(f"no pseudo-terminal to be had: {_NONE}") from error
        except OSError as error:
            raise LinkError(f"no pseudo-terminal to be had: {error}") from error
        try:
            tty.setraw(reader)
            os.set_blocking(gauge, False)
            return gauge, reader, os.ttyname(reader)
        except BaseException:
            os.close(reader)
            os.close(gauge)
            raise


def opened_raw(path: str) -> int:
    """The descriptor of a terminal that is there. Raises OSError; LinkError where there is none."""
    if sys.platform == "win32":
        raise LinkError(f"{path}: {_NONE}")
    else:
        import tty  # noqa: PLC0415 - POSIX only

        line = os.open(path, os.O_RDWR | os.O_NOCTTY)
        tty.setraw(line)
        return line
