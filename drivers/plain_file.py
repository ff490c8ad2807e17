"""Files that are read whole: plain ones only, and no more of them than they may have.

A pipe would keep its reader waiting, a device would fill the memory, and a port is touched already
by being opened.
"""

import errno
import stat
from pathlib import Path
from typing import BinaryIO


def plain_bytes(path: Path, most_bytes: int) -> bytes:
    """A file's bytes. Raises OSError, also for what is no plain file (`strerror` says so) and for
    a file that is longer.
    """
    with open_plain(path) as file:
        data = file.read(most_bytes + 1)
    if len(data) > most_bytes:
        raise OSError(errno.EFBIG, f"longer than {_size(most_bytes)}", str(path))
    return data


def open_plain(path: Path) -> BinaryIO:
    """A file to read from. Raises OSError, also for what is no plain file (`strerror` says so)."""
    try:
        mode = path.stat().st_mode
    except ValueError as error:  # a NUL in the name
        raise OSError(errno.EINVAL, str(error), str(path)) from error
    if not stat.S_ISREG(mode):
        raise OSError(errno.EINVAL, _what(mode), str(path))
    return path.open("rb")


def _what(mode: int) -> str:
    if stat.S_ISDIR(mode):
        return "Is a directory"
    return "it is a pipe, a socket or a device, not a plain file"


def _size(many: int) -> str:
    return f"{many // 1024} KiB" if many < 1024 * 1024 else f"{many // (1024 * 1024)} MiB"
