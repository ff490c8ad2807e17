"""What must outlive a power cut: file contents and names synced, files written whole.

The one place that knows how systems differ in this. POSIX syncs a file's bytes without its times
(fdatasync) and syncs a folder like a file; elsewhere a file is synced with all that belongs to it,
and a folder cannot be synced at all.
"""

import contextlib
import errno
import os
from collections.abc import Callable
from pathlib import Path

AS_BYTES: int = getattr(os, "O_BINARY", 0)
"""A flag for os.open: Windows would write another byte before each line feed, and has this."""


def sync_data(fd: int) -> None:
    """Make a file's bytes and length durable. Raises OSError."""
    # macOS and Windows have no fdatasync.
    sync: Callable[[int], None] = getattr(os, "fdatasync", os.fsync)
    sync(fd)


def sync_folder(folder: Path) -> None:
    """Make new names in a folder durable. Raises OSError.

    Does nothing where a folder cannot be opened: Windows has no call for it, and its file system
    keeps names in a journal of its own.
    """
    as_folder: int | None = getattr(os, "O_DIRECTORY", None)
    if as_folder is None:
        return
    fd = os.open(folder, os.O_RDONLY | as_folder)
    try:
        os.fsync(fd)
    finally:
        os.close(fd)


def what_helps(error: OSError) -> str:
    """What to do about a file or folder that cannot be written, as the end of a message."""
    if error.errno == errno.EROFS:
        return "It lies on a read-only disk: make that writable, or choose another folder"
    if error.errno in (errno.EACCES, errno.EPERM):
        return "You have no permission to write there: get it, or choose another folder"
    if error.errno in (errno.ENOENT, errno.ENOTDIR):
        return "There is no such folder: make it, or choose another one"
    if error.errno in (errno.ENAMETOOLONG, errno.EISDIR, errno.EEXIST):
        return "Choose another name"
    return "Free some space or mend the disk"


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
