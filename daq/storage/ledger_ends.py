"""The first and the last line of a ledger, without what lies between: enough to list sessions.

It proves nothing of a session: each of the two lines carries the digest that its own bytes and the
line before give, and what lies between is not looked at. `daq.storage.ledger` proves all of it.
"""

import os
from pathlib import Path
from typing import BinaryIO

import msgspec

from daq.errors import LedgerAbsent, LedgerDamaged, LedgerError
from daq.record.events import Entry
from daq.storage.chain import TAIL_BYTES, stated_digest, unsealed
from daq.storage.ledger import LEDGER, scan_bytes
from daq.storage.ledger_codec import entry_of
from drivers.plain_file import open_plain

FIRST_LOOK_BYTES = 64 * 1024
"""Most first and last lines are shorter; of a longer one more is read. Chosen by us."""

MOST_LINE_BYTES = 16 * 1024 * 1024
"""A first line holds a plan of 256 KiB at most and a few small files, each byte of which JSON may
write as six. A longer line is no ledger's. Chosen by us."""


class LastLine(msgspec.Struct, frozen=True):
    """The last whole line of a ledger, and its digest."""

    entry: Entry
    chain: str


def first_entry(folder: Path) -> Entry:
    """The opening line. Raises LedgerDamaged, LedgerTooNew, LedgerAbsent, LedgerError."""
    with _opened(folder) as file:
        return scan_bytes(file.readline(MOST_LINE_BYTES), folder).entries[0]


def last_line(folder: Path) -> LastLine:
    """The last line that is whole, a torn piece behind it left out. Raises LedgerDamaged,
    LedgerAbsent, LedgerError.
    """
    with _opened(folder) as file:
        before, last, rest = _tail(file, folder)
    if rest:
        chain = stated_digest(last)
        if unsealed(rest[:-1], chain) is not None:
            raise LedgerDamaged(folder, 0, "it ends in a byte that is not its line feed")
        if unsealed(rest, chain) is not None:
            before, last = last, rest
    if not last and not before:
        raise LedgerAbsent(folder, f"{LEDGER} holds no whole line, so nothing is stored here")
    digest = unsealed(last, stated_digest(before))
    if digest is None:
        raise LedgerDamaged(
            folder, 0, "its last line does not carry the digest that its bytes give"
        )
    try:
        return LastLine(entry_of(last), digest)
    except ValueError as error:
        reason = f"its last line is not a record of this format ({error})"
        raise LedgerDamaged(folder, 0, reason) from error


def _opened(folder: Path) -> BinaryIO:
    try:
        return open_plain(folder / LEDGER)
    except (FileNotFoundError, NotADirectoryError) as error:
        raise LedgerAbsent(folder, f"there is no {LEDGER} here, so it is no session") from error
    except OSError as error:
        raise LedgerError(folder, f"{LEDGER} cannot be read: {error.strerror}") from error


def _tail(file: BinaryIO, folder: Path) -> tuple[bytes, bytes, bytes]:
    """The end of the last line but one (at least its digest), the last line that ends in a line
    feed, and the bytes behind it. What is not there is empty.
    """
    size, look = os.fstat(file.fileno()).st_size, FIRST_LOOK_BYTES
    while True:
        start = max(size - look, 0)
        file.seek(start)
        pieces = file.read(size - start).split(b"\n")
        if start == 0:
            pieces = [b"", b"", *pieces]
        if len(pieces) > 2 and (start == 0 or len(pieces[-3]) >= TAIL_BYTES):
            return pieces[-3], pieces[-2], pieces[-1]
        if look > MOST_LINE_BYTES:
            raise LedgerDamaged(folder, 0, "its last line is longer than any record")
        look *= 4
