"""The history file of one gauge, HOME/history/NAME.jsonl: append-only, one line a record.

A write that fails leaves what stood there, and no session's ledger ever waits for it.
"""

import errno
import os
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import filelock

from daq.errors import HistoryError, HistoryNotWritten
from daq.gauges.history import (
    AnyRecord,
    CheckRecord,
    History,
    NoteRecord,
    StudyRecord,
    in_order,
    key_of,
)
from daq.storage.chained_file import TooManyAside, add, mend, open_to_add
from daq.storage.durable import sync_folder, what_helps
from daq.storage.history_lines import Found, found_in, line_of
from drivers.plain_file import plain_bytes

FOLDER = "history"
LOCK_WAIT_S = 10.0
MOST_BYTES = 256 * 1024 * 1024
"""Some 200 000 checks. Chosen by us: a larger file is no history."""


def history_path(name: str, home: Path) -> Path:
    """Where the history called `name` lies."""
    return home / FOLDER / f"{name}.jsonl"


def read(name: str, home: Path) -> History:
    """The history called `name`, empty if there is none; changes nothing. Raises HistoryError."""
    if not name:
        return History(name, "")
    path = history_path(name, home)
    found = found_in(_bytes(path))
    lines, faults = in_order(found.lines, int(datetime.now(UTC).timestamp() * 1_000_000))
    return History(name, str(path), lines, (*found.faults, *faults), found.is_end_lost)


def append(name: str, home: Path, entries: Sequence[tuple[int, AnyRecord]]) -> int:
    """Store records, each with its time in microseconds UTC; one write, one sync.

    A session's check or study that stands there already is not stored again. Gives how many were.
    A half last line is moved to a file beside the history first. Raises HistoryNotWritten.
    """
    if not entries or not name:
        return 0
    path = history_path(name, home)
    try:
        is_new_folder = not path.parent.exists()
        path.parent.mkdir(parents=True, exist_ok=True)
        with filelock.FileLock(path.parent / f".{name}.lock", timeout=LOCK_WAIT_S):
            found = found_in(_bytes(path))
            data, count = _lines(found, entries)
            if count:
                _write(path, found, data)
                if is_new_folder:
                    sync_folder(path.parent.parent)
    except filelock.Timeout as error:
        raise HistoryNotWritten(
            path, f"another program has held it for {LOCK_WAIT_S:g} s. Close that one"
        ) from error
    except OSError as error:
        raise HistoryNotWritten(
            path, f"nothing could be stored: {error.strerror}. {what_helps(error)}"
        ) from error
    return count


def append_check(name: str, home: Path, at_us: int, check: CheckRecord) -> bool:
    """Store one judged check; False if it stands there already. Raises HistoryNotWritten."""
    return append(name, home, [(at_us, check)]) == 1


def append_study(name: str, home: Path, at_us: int, study: StudyRecord) -> bool:
    """Store the result of a study; False if it stands there already. Raises HistoryNotWritten."""
    return append(name, home, [(at_us, study)]) == 1


def append_note(name: str, home: Path, at_us: int, note: NoteRecord) -> bool:
    """Store words about the gauge. Raises HistoryNotWritten."""
    return append(name, home, [(at_us, note)]) == 1


def _lines(found: Found, entries: Sequence[tuple[int, AnyRecord]]) -> tuple[bytes, int]:
    after, parts = found.after, list[bytes]()
    there = {key_of(line.record) for line in found.lines} - {None}
    count = 0
    for at_us, record in entries:
        key = key_of(record)
        if key in there:
            continue
        if key is not None:
            there.add(key)
        raw, after = line_of(found.n + count, at_us, record, after)
        parts += [raw, b"\n"]
        count += 1
    return b"".join(parts), count


def _bytes(path: Path) -> bytes:
    try:
        return plain_bytes(path, MOST_BYTES)
    except FileNotFoundError:
        return b""
    except OSError as error:
        if error.errno == errno.EFBIG:
            raise HistoryError(path, "it is far larger than any history. Move it away") from error
        raise HistoryError(path, f"it cannot be read: {error.strerror}") from error


def _write(path: Path, found: Found, data: bytes) -> None:
    """Mend the end, then add; a failed write is taken back."""
    is_new = not path.exists()
    _mend(path, found)
    fd = open_to_add(path, os.O_CREAT)
    try:
        try:
            add(fd, data)
        except OSError:
            os.ftruncate(fd, found.whole_bytes)
            raise
    finally:
        os.close(fd)
    if is_new:
        sync_folder(path.parent)


def _mend(path: Path, found: Found) -> None:
    try:
        mend(path, found, lambda suffix: f"{path.stem}.torn-before-{found.n}{suffix}.bin")
    except TooManyAside:
        raise HistoryNotWritten(
            path, "too many half lines were set aside here. Move those files away"
        ) from None
