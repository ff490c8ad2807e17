"""Files that a command makes where it is told to: no file of anybody else's is written over."""

from pathlib import Path

from daq.errors import ExportError, UsageError
from daq.storage.durable import what_helps, write_whole


def write_own(path: Path, text: str, *, mark: str, option: str, replace: bool) -> None:
    """Write a file whole: a new one, one that the same command made, or any plain one if `replace`.

    The command's files begin with `mark`. Raises UsageError naming `option`, and ExportError where
    the machine refuses.
    """
    try:
        if path.exists() or path.is_symlink():
            if not path.is_file():
                raise UsageError(f"{path} is no plain file. Choose another name.", option)
            if not replace and not _begins_with(path, mark.encode("utf-8")):
                raise UsageError(
                    f"{path} exists and was not made by this command. Choose another name, or say "
                    "--replace.",
                    option,
                )
        write_whole(path, text.encode("utf-8"))
    except OSError as error:
        raise ExportError(
            f"{path} cannot be written: {error.strerror}. {what_helps(error)}."
        ) from error


def _begins_with(path: Path, mark: bytes) -> bool:
    with path.open("rb") as file:
        return file.read(len(mark)) == mark
