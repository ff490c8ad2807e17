"""The ledger file of one session: one write and one sync a batch, acknowledged only after both."""

import contextlib
import errno
import os
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Self

import filelock
import msgspec

from daq.errors import (
    LedgerAbsent,
    LedgerDamaged,
    LedgerError,
    LedgerLocked,
    LedgerNotRead,
    LedgerNotWritten,
    LedgerTaken,
    LedgerTooNew,
)
from daq.record.events import FORMAT, CheckRead, Closed, Entry, Held, Opened, Read
from daq.storage.chain import START, FileEnd, ending, sealed, unsealed
from daq.storage.chained_file import TooManyAside, add, cut_back, mend, open_to_add
from daq.storage.durable import sync_folder, what_helps
from daq.storage.file_lock import lock_open_file
from daq.storage.ledger_codec import body_of, entry_of
from daq.storage.rescue import rescue
from drivers.plain_file import plain_bytes

LEDGER = "ledger.jsonl"
LOCK = ".lock"
PLAN_COPY = "plan.toml"
HELD_ELSEWHERE = "another program has it open. Close that one, then try again"
MOST_BYTES = 256 * 1024 * 1024
"""Some 500 000 lines. Chosen by us: a larger file is no ledger."""


_MACHINES = (errno.EIO, errno.ESTALE, errno.ETIMEDOUT, errno.ENXIO, errno.ENOMEM, errno.EMFILE)
"""Not the file's fault: what this machine or its disk could not do."""


class Scan(FileEnd, frozen=True):
    """A ledger as it lies on the disk, all of it proven; `chain` is its last line's digest."""

    entries: tuple[Entry, ...]
    chain: str


class _Format(msgspec.Struct):
    format: int = 0


def scan(folder: Path) -> Scan:
    """Read and prove a ledger; changes nothing.

    Raises LedgerDamaged with the line, LedgerTooNew, or LedgerError if there is none.
    """
    return scan_bytes(_bytes(folder), folder)


def _bytes(folder: Path) -> bytes:
    try:
        return plain_bytes(folder / LEDGER, MOST_BYTES)
    except (FileNotFoundError, NotADirectoryError) as error:
        raise LedgerAbsent(folder, f"there is no {LEDGER} here, so it is no session") from error
    except OSError as error:
        cannot = f"{LEDGER} cannot be read: {error.strerror}"
        if error.errno in _MACHINES:
            raise LedgerNotRead(folder, f"{cannot}. Nothing was changed. Mend the disk") from error
        raise LedgerError(folder, cannot) from error


def scan_bytes(data: bytes, folder: Path) -> Scan:
    """As `scan`, of bytes at hand."""
    *lines, last = data.split(b"\n")
    chain, number = START, 0
    entries: list[Entry] = []
    try:
        for number, line in enumerate(lines, 1):
            digest = unsealed(line, chain)
            if digest is None:
                raise LedgerDamaged(folder, number, "does not carry the digest that its bytes give")
            chain = digest
            if number == 1:
                _check_format(line, folder)
            entries.append(entry_of(line))
    except ValueError as error:
        raise _no_record(number, folder, error) from error
    digest, number = unsealed(last, chain), len(lines) + 1
    if digest is None and unsealed(last[:-1], chain) is not None:
        raise LedgerDamaged(folder, number, "ends in a byte that is not its line feed")
    end = ending(data, last, is_whole=digest is not None)
    if digest is not None:
        chain = digest
        if number == 1:
            _check_format(last, folder)
        try:
            entries.append(entry_of(last))
        except ValueError as error:
            raise _no_record(number, folder, error) from error
    if not entries:
        raise LedgerAbsent(
            folder,
            (
                f"{LEDGER} holds no whole line, so nothing of a session is stored here. Begin "
                "again with jbridge measure; the folder may be removed"
            ),
        )
    _order(entries, folder)
    return Scan(*end, entries=tuple(entries), chain=chain)


def _check_format(first: bytes, folder: Path) -> None:
    with contextlib.suppress(msgspec.DecodeError, RecursionError):
        written = msgspec.json.decode(first, type=_Format).format
        if written > FORMAT:
            raise LedgerTooNew(
                folder,
                (
                    f"written by a newer program (format {written}, this one reads up to "
                    f"{FORMAT}). Use that program"
                ),
            )


def _no_record(number: int, folder: Path, error: ValueError) -> LedgerDamaged:
    return LedgerDamaged(folder, number, f"is not a record of this format ({error})")


def _order(entries: Sequence[Entry], folder: Path) -> None:
    for number, entry in enumerate(entries, 1):
        if entry.seq != number:
            raise LedgerDamaged(folder, number, f"says seq {entry.seq}")
        kind = type(entry.event)
        if (kind is Opened) is not (number == 1):
            raise LedgerDamaged(folder, number, "is not where an opening line belongs")
        if kind is Closed and number != len(entries):
            raise LedgerDamaged(folder, number + 1, "stands behind the closing line")


@contextlib.contextmanager
def held(folder: Path) -> Iterator[None]:
    """While inside, no other program has the session. Raises LedgerLocked, LedgerNotWritten."""
    lock = _locked(folder)
    try:
        yield
    finally:
        lock.release()


class Ledger:
    """An open ledger, locked against other programs until `close`."""

    def __init__(
        self,
        folder: Path,
        fd: int,
        lock: filelock.BaseFileLock,
        chain: str,
        *,
        stored: bytes = b"",
        made: Sequence[Path] = (),
        refuge: Path | None = None,
    ) -> None:
        self.folder = folder
        self.chain = chain
        self._path = str(folder.absolute() / LEDGER)
        self._fd = fd
        self._lock = lock
        self._stored = bytearray(stored)  # all of it synced: the file's own bytes can be taken away
        self._made = made
        self._refuge = refuge
        about = os.fstat(fd)
        self._is_own = (about.st_dev, about.st_ino, about.st_nlink)
        self._failed = False

    @classmethod
    def create(cls, folder: Path, refuge: Path | None = None) -> Self:
        """A new session folder with an empty ledger, both on disk; raises LedgerError if the
        folder exists, LedgerNotWritten if the machine refuses.

        `refuge`: where what was stored is rescued to if there is no place beside the folder.
        """
        made = [part for part in (folder, *folder.parents) if not part.exists()]
        try:
            folder.mkdir(parents=True, mode=0o777)
        except FileExistsError as error:
            raise LedgerError(
                folder, "this folder exists already; a session needs a new one"
            ) from error
        except OSError as error:
            _unmade(made)
            raise LedgerNotWritten(
                folder, f"it cannot be made: {error.strerror}. {what_helps(error)}"
            ) from error
        try:
            lock = _locked(folder)
            try:
                fd = _own(folder, os.O_CREAT | os.O_EXCL)
                sync_folder(folder)
                for part in made:
                    sync_folder(part.parent)
            except OSError as error:
                lock.release()
                raise LedgerNotWritten(
                    folder, f"{LEDGER} cannot be made: {error.strerror}. {what_helps(error)}"
                ) from error
        except LedgerError:
            _unmade(made)
            raise
        return cls(folder, fd, lock, START, made=made, refuge=refuge)

    @classmethod
    def open(cls, folder: Path, refuge: Path | None = None) -> tuple[Self, Scan, str]:
        """An existing ledger, to append to: its lock, its proven content, and the name of the file
        to which a half last line was moved ("" if there was none).

        Raises LedgerLocked, LedgerDamaged, LedgerTooNew, LedgerError.
        """
        if not (folder / LEDGER).exists():
            raise LedgerAbsent(folder, f"there is no {LEDGER} here, so it is no session")
        _bytes(folder)  # what is no plain file is neither locked nor opened
        with contextlib.ExitStack() as on_failure:
            lock = _locked(folder)
            on_failure.callback(lock.release)
            try:
                fd = _own(folder)
                on_failure.callback(os.close, fd)
                found = scan(folder)
                torn_file = _mend(folder, found)
                stored = plain_bytes(folder / LEDGER, MOST_BYTES)
            except OSError as error:
                raise LedgerNotWritten(
                    folder, f"{LEDGER}: {error.strerror}. {what_helps(error)}"
                ) from error
            ledger = cls(folder, fd, lock, found.chain, stored=stored, refuge=refuge)
            on_failure.pop_all()
            return ledger, found, torn_file

    def append(self, entries: Iterable[Entry]) -> list[bytes]:
        """Store entries for good: one write, one sync. Gives the lines as written, without LF.

        Raises LedgerNotWritten: then the file is cut back to what was stored before, or the words
        say that it is not known what is there. The ledger takes nothing more after that.
        """
        if self._failed:
            raise LedgerNotWritten(self.folder, "an earlier write failed")
        chain, lines, data, events = self.chain, [], b"", set()
        for entry in entries:
            events.add(type(entry.event))
            line, chain = sealed(body_of(entry), chain)
            lines.append(line)
            data += line + b"\n"
        lost = (
            "The last reading" if events & {CheckRead, Read, Held} else "What was to be stored now"
        )
        self._confirm(lost)
        try:
            add(self._fd, data)
        except OSError as error:
            self._failed = True
            raise self._not_stored(error, lost) from error
        self.chain = chain
        self._stored += data
        return lines

    def confirm(self) -> None:
        """Raises LedgerTaken unless the file on the disk is still the one that this run writes."""
        if self._fd >= 0 and not self._failed:
            self._confirm()

    def _confirm(self, lost: str = "") -> None:
        happened = self._what_happened()
        if not happened:
            return
        self._failed = True
        data = bytes(self._stored)
        rescued = rescue(self.folder, LEDGER, PLAN_COPY, data, self._refuge) if data else None
        raise LedgerTaken(self.folder, *_told(happened), rescued, lost=lost)

    def _what_happened(self) -> str | OSError:
        """What another program did to the file, "" for nothing: two calls, as each record pays. An
        error where that cannot be told.
        """
        device, inode, links = self._is_own
        try:
            ours, there = os.fstat(self._fd), os.stat(self._path)
        except (FileNotFoundError, NotADirectoryError):
            return "it was removed or moved away"
        except OSError as error:
            return error
        if (there.st_dev, there.st_ino) != (device, inode):
            return "another file was put in its place"
        if ours.st_nlink != links:
            return "it got a second name, or lost one"
        if ours.st_size < len(self._stored):
            return "another program cut it"
        if ours.st_size > len(self._stored):
            return "another program wrote into it"
        return ""

    def _not_stored(self, error: OSError, lost: str) -> LedgerNotWritten:
        """Take a failed write back, and say what is there now."""
        why = f"a record could not be stored: {error.strerror}."
        if cut_back(self._fd, len(self._stored)):
            kept, then = (
                (f"{lost} was NOT kept", "resume")
                if self._stored
                else ("Nothing of this session is stored", "begin again")
            )
            return LedgerNotWritten(self.folder, f"{why} {kept}. {what_helps(error)}, then {then}")
        reason = (
            f"{why} It could not be taken back either: {lost.lower()} may or may not be kept. "
            f"{what_helps(error)}, then see what is there"
        )
        unknown = LedgerNotWritten(self.folder, reason, is_known=False)
        return unknown.then("verify", self.folder)

    def discard_if_empty(self) -> None:
        """Give back a new ledger in which nothing could be stored, folder and all."""
        if self._fd >= 0 and not self._stored:
            self.close()
            _unmade(self._made)

    def close(self) -> None:
        """Release file and lock; as often as you like."""
        if self._fd >= 0:
            os.close(self._fd)
            self._fd = -1
            self._lock.release()


def _told(happened: str | OSError) -> tuple[str, str]:
    """What became of an open ledger, and what helps."""
    if isinstance(happened, OSError):
        return f"{LEDGER} cannot be looked at: {happened.strerror}", what_helps(happened)
    return (
        f"the record on the disk was changed from outside: {happened}",
        "Find the program that did it: does one sync or clean up folders?",
    )


def _own(folder: Path, making: int = 0) -> int:
    """The ledger opened to be added to and locked itself, so that a deleted `.lock` lets nobody in.

    Raises LedgerLocked and OSError.
    """
    fd = open_to_add(folder / LEDGER, making)
    try:
        if not lock_open_file(fd):
            raise LedgerLocked(folder, HELD_ELSEWHERE)
    except BaseException:
        os.close(fd)
        raise
    return fd


def _unmade(made: Sequence[Path]) -> None:
    """Take the new folder of a session away again, and those above that were made for it, as far
    as nothing else lies in them.
    """
    for name in (LEDGER, LOCK) if made else ():
        with contextlib.suppress(OSError):
            (made[0] / name).unlink()
    for part in made:
        with contextlib.suppress(OSError):
            part.rmdir()


def _locked(folder: Path) -> filelock.BaseFileLock:
    lock = filelock.FileLock(folder / LOCK, timeout=0)
    try:
        lock.acquire()
    except filelock.Timeout as error:
        raise LedgerLocked(folder, HELD_ELSEWHERE) from error
    except OSError as error:
        raise LedgerNotWritten(
            folder, f"it cannot be locked: {error.strerror}. {what_helps(error)}"
        ) from error
    return lock


def _mend(folder: Path, found: Scan) -> str:
    """End the ledger in a whole line; the name of the file that took a half one, "" without one."""
    try:
        return mend(
            folder / LEDGER, found, lambda suffix: f"torn-after-{len(found.entries)}{suffix}.bin"
        )
    except TooManyAside:
        raise LedgerError(
            folder, "too many half lines were set aside here. Move those files away"
        ) from None
