"""Files that a command makes where it is told to: no file of anybody else's is written over."""

from pathlib import Path

from daq.errors import UsageError
from daq.storage.durable import write_whole


def write_own(path: Path, text: str, *, mark: str, option: str, replace: bool) -> None:
    """Write a file whole: a new one, one that the same command made, or any plain one if `replace`.

    The command's files have `mark` in their first bytes. Raises UsageError naming `option`, and
    OSError.
    """
    if path.exists() or path.is_symlink():
        if not path.is_file():
            raise UsageError(f"{path} is no plain file. Choose another name.", option)
        if not replace and not _has_mark(path, mark.encode("utf-8")):
            raise UsageError(
                f"{path} exists and was not made by this command. Choose another name, or say "
                "--replace.",
                option,
            )
    write_whole(path, text.encode("utf-8"))


def _has_mark(path: Path, mark: bytes) -> bool:
    with path.open("rb") as file:
        return mark in file.read(len(mark) + 256)
