"""Files that a command makes where it is told to: no file of anybody else's is written over."""

from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO

from daq.errors import ExportError, UsageError
from daq.storage.durable import what_helps, write_whole


def write_own(path: Path, text: str, *, mark: str, option: str, replace: bool) -> None:
    """Write a file whole: a new one, one that the same command made, or any plain one if `replace`.

    The command's files begin with `mark`. Raises UsageError naming `option`, and ExportError where
    the machine refuses.
    """
    own = mark.encode("utf-8")
    write_own_bytes(
        path,
        text.encode("utf-8"),
        is_own=lambda file: file.read(len(own)) == own,
        option=option,
        replace=replace,
    )


def write_own_bytes(
    path: Path, data: bytes, *, is_own: Callable[[BinaryIO], bool], option: str, replace: bool
) -> None:
    """As `write_own`; `is_own` says of a file whether the command made it."""
    try:
        if path.exists() or path.is_symlink():
            if not path.is_file():
                raise UsageError(f"{path} is no plain file. Choose another name.", option)
            if not replace and not _is_own(path, is_own):
                raise UsageError(
                    f"{path} exists and was not made by this command. Choose another name, or say "
                    "--replace.",
                    option,
                )
        write_whole(path, data)
    except OSError as error:
        raise ExportError(
            f"{path} cannot be written: {error.strerror}. {what_helps(error)}."
        ) from error


def _is_own(path: Path, is_own: Callable[[BinaryIO], bool]) -> bool:
    with path.open("rb") as file:
        return is_own(file)
