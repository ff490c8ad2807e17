"""Files made outside a session's folder, whole or not at all: one file, or a folder of them."""

import contextlib
import os
import re
import shutil
from collections.abc import Mapping
from pathlib import Path

from daq.errors import ExportError, UsageError
from daq.storage.durable import sync_folder, what_helps, write_whole
from daq.storage.ledger import LEDGER
from daq.storage.whole import WRITTEN

OPTION = "--to"

_OWN_ENDS = (".jsonl", ".parquet")

_CHAIN = re.compile(rb"(?:ledger_chain|last_chain)[^0-9a-f]{1,16}([0-9a-f]{64})(?![0-9a-f])")
"""The last chain value of the record that files were made from, as each format has it."""
_LOOKED_AT = 256 * 1024
"""Bytes at the beginning and at the end of a file in which it stands."""


def outside_folder(folder: Path) -> Path:
    """The folder to make files in, made if it is not there. Raises UsageError where it lies in a
    session's folder or is none, ExportError where the machine refuses.
    """
    try:
        real = folder.resolve()
        for part in (real, *real.parents):
            if (part / LEDGER).exists():
                raise UsageError(
                    f"{folder} lies in a session's folder, which holds its record and its own "
                    "tables alone: choose a folder outside",
                    OPTION,
                )
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError as error:
        raise UsageError(f"{folder} is no folder: choose another name", OPTION) from error
    except (ValueError, RuntimeError) as error:  # a NUL in the name; links in a circle
        raise UsageError(f"{folder} is no name of a folder: choose another", OPTION) from error
    except OSError as error:
        raise _not_written(folder, error) from error
    return folder


def write_one(path: Path, data: bytes, *, replace: bool) -> None:
    """Write one file whole. Raises UsageError where it is there and not to be replaced, ExportError
    where the machine refuses.
    """
    try:
        if path.exists() or path.is_symlink():
            if not path.is_file():
                raise UsageError(f"{path} is no plain file: choose another folder", OPTION)
            if not replace:
                raise _exists(path)
        write_whole(path, data)
        sync_folder(path.parent)
    except OSError as error:
        raise _not_written(path, error) from error


def write_folder(path: Path, files: Mapping[str, bytes], *, replace: bool, chain: str = "") -> None:
    """Write a folder of files whole: made under another name, flushed, then renamed. Raises as
    `write_one`; what is replaced must hold nothing else than such files, and none that were made
    from a record that ends with another chain value than `chain`.
    """
    part = path.with_name(f".{path.name}.{os.urandom(4).hex()}.part")
    try:
        _look_at(path, chain, replace=replace)
        part.mkdir()
        for name, data in files.items():
            with (part / name).open("xb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
        sync_folder(part)
        _put_in_place(part, path, replace=replace)
        sync_folder(path.parent)
    except OSError as error:
        raise _not_written(path, error) from error
    finally:
        shutil.rmtree(part, ignore_errors=True)


def _look_at(path: Path, chain: str, *, replace: bool) -> None:
    if not (path.exists() or path.is_symlink()):
        return
    if path.is_symlink() or not path.is_dir():
        raise UsageError(f"{path} is no folder: choose another place", OPTION)
    others = [each.name for each in path.iterdir() if not _is_own(each)]
    if others:
        name = others[0]
        raise UsageError(f"{path} holds other things, like {name}: choose another folder", OPTION)
    if not replace:
        raise _exists(path)
    found = {each for file in path.iterdir() for each in _chains_in(file)}
    if chain and found and found != {chain}:
        raise UsageError(
            f"{path} was made from another record with this session's id: choose another folder, "
            "or take that one away",
            OPTION,
        )


def _chains_in(path: Path) -> list[str]:
    """The chain values that a file names."""
    with path.open("rb") as file:
        data = file.read(_LOOKED_AT)
        end = file.seek(0, os.SEEK_END)
        file.seek(max(len(data), end - _LOOKED_AT))
        data += file.read(_LOOKED_AT)
    return [each.decode("ascii") for each in _CHAIN.findall(data)]


def _is_own(path: Path) -> bool:
    """A file that an export makes; a record is never one."""
    is_named_so = path.name in WRITTEN or path.name.endswith(_OWN_ENDS)
    return path.is_file() and is_named_so and path.name != LEDGER


def _put_in_place(part: Path, path: Path, *, replace: bool) -> None:
    """The new folder under its name; what stood there goes back if that fails."""
    if not path.exists():
        part.rename(path)
        return
    if not replace:  # somebody was quicker
        raise _exists(path)
    old = path.with_name(f".{path.name}.{os.urandom(4).hex()}.old")
    path.rename(old)
    try:
        part.rename(path)
    except BaseException:
        with contextlib.suppress(OSError):
            old.rename(path)
        raise
    shutil.rmtree(old, ignore_errors=True)


def _exists(path: Path) -> UsageError:
    return UsageError(f"{path} is there already: choose another folder, or say --replace", OPTION)


def _not_written(path: Path, error: OSError) -> ExportError:
    return ExportError(
        f"{path} cannot be written: {error.strerror}. Nothing was changed. {what_helps(error)}."
    )
