"""What every append-only file needs of the disk: synced folders, half last lines kept aside."""

import contextlib
import os
from collections.abc import Callable
from pathlib import Path

MOST_ASIDE = 1000
"""So many half lines of one place mean that something else is wrong."""


class TooManyAside(Exception):
    """Every name for the half line is taken."""


def sync_folder(folder: Path) -> None:
    """Make new names in a folder durable. Raises OSError."""
    fd = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(fd)
    finally:
        os.close(fd)


def set_aside(path: Path, torn: bytes, whole_bytes: int, named: Callable[[str], str]) -> Path:
    """Save the half last line of `path` beside it, durably, then cut it off.

    `named` gives the file's name for a suffix ("" first, then "-1", "-2" …); an existing file is
    never written over. Gives the new file. Raises TooManyAside and OSError.
    """
    for number in range(MOST_ASIDE):
        aside = path.with_name(named(f"-{number}" if number else ""))
        try:
            fd = os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
        except FileExistsError:
            continue
        with os.fdopen(fd, "wb") as file:
            file.write(torn)
            file.flush()
            os.fsync(file.fileno())
        sync_folder(path.parent)
        os.truncate(path, whole_bytes)
        return aside
    raise TooManyAside


def write_whole(path: Path, data: bytes) -> None:
    """Write a file whole or not at all: under another name, flushed to disk, then renamed.

    An existing file is replaced. The folder is not synced. Raises OSError.
    """
    part = path.with_name(f".{path.name}.{os.urandom(4).hex()}.part")
    try:
        with part.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except BaseException:
        with contextlib.suppress(OSError):
            part.unlink()
        raise
