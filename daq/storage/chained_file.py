"""A file of chained lines on the disk: mended at its end, added to with one write and one sync.

What its lines say, and which line each of them follows, is for their formats to know.
"""

import os
from collections.abc import Callable
from pathlib import Path

from daq.storage.chain import FileEnd
from daq.storage.durable import AS_BYTES, sync_data, sync_folder

MOST_ASIDE = 1000
"""So many half lines of one place mean that something else is wrong."""


class TooManyAside(Exception):
    """Every name for the half line is taken."""


def open_to_add(path: Path, making: int = 0) -> int:
    """A descriptor that only adds; `making`: O_CREAT, and O_EXCL for a new file. Raises OSError."""
    return os.open(path, os.O_WRONLY | os.O_APPEND | AS_BYTES | making, 0o666)


def add(fd: int, data: bytes) -> None:
    """Store `data` for good, all of it: one write, one sync.

    Raises OSError: how much of it lies on the disk then is not known.
    """
    written = os.write(fd, data)
    while written < len(data):  # a disk that is nearly full takes a part
        written += os.write(fd, data[written:])
    sync_data(fd)


def cut_back(fd: int, length: int) -> bool:
    """After a failed `add`: let the file end where it did before, for good; False if it cannot be
    said that it does, so that what was to be added may be there or not.
    """
    try:
        os.ftruncate(fd, length)
        os.fsync(fd)  # not only its bytes: a length is what changed
        return os.fstat(fd).st_size == length
    except OSError:
        return False


def mend(path: Path, end: FileEnd, named: Callable[[str], str]) -> str:
    """Let the file end in a whole line, durably, before anything is added to it.

    A half line is saved in a file beside it, then cut off: `named` gives that file's name for a
    suffix ("" first, then "-1", "-2" …), and an existing file is never written over. A missing line
    feed is given back. Gives the new file's name, "" if there was no half line. Raises TooManyAside
    and OSError.
    """
    if not end.torn and not end.lacks_lf:
        return ""
    aside = _set_aside(path, end.torn, named) if end.torn else ""
    fd = open_to_add(path)
    try:
        if end.torn:
            os.ftruncate(fd, end.whole_bytes)
        add(fd, b"\n" if end.lacks_lf else b"")
    finally:
        os.close(fd)
    return aside


def _set_aside(path: Path, torn: bytes, named: Callable[[str], str]) -> str:
    for number in range(MOST_ASIDE):
        aside = path.with_name(named(f"-{number}" if number else ""))
        try:
            file = aside.open("xb")
        except FileExistsError:
            continue
        with file:
            file.write(torn)
            file.flush()
            os.fsync(file.fileno())
        sync_folder(path.parent)
        return aside.name
    raise TooManyAside
