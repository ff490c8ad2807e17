"""Does a sheet belong to a session's record, and does it say what that gives? Changes nothing."""

from collections.abc import Callable
from pathlib import Path

import msgspec

from daq.errors import UsageError
from daq.record.state import State
from daq.sheet.compare import differences, letterhead_words
from daq.sheet.pdf import attached
from daq.sheet.seal import Seal, is_own_pdf, is_pdf_unchanged, seal_of
from daq.storage.ledger import LEDGER, MOST_BYTES, Scan, scan_bytes
from daq.storage.replay import replay
from daq.storage.whole import whole
from daq.version import __version__
from drivers.plain_file import plain_bytes

MOST_SHEET_BYTES = 32 * 1024 * 1024

Make = Callable[[State, int, str, str], str]
"""Makes a page again, without letterhead: of a state, its number of lines, its chain's last value,
and what --units said."""


class SheetRead(msgspec.Struct, frozen=True):
    """A sheet as it was handed in: its page, what that says of itself, what is wrong already."""

    page: str
    seal: Seal
    is_pdf: bool
    faults: tuple[str, ...] = ()


class SheetFinding(msgspec.Struct, frozen=True):
    """What came out. `faults` make the answer no; `notes` do not."""

    session: str
    line: int
    faults: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def read_sheet(path: Path) -> SheetRead:
    """A sheet's file. Raises UsageError for what is none of this program's."""
    try:
        data = plain_bytes(path, MOST_SHEET_BYTES)
    except OSError as error:
        raise UsageError(f"{path} cannot be read: {error.strerror}.", "--sheet") from error
    if data.startswith(b"%PDF-"):
        return _read_pdf(data, path)
    try:
        page = data.decode("utf-8")
    except UnicodeDecodeError:
        page = ""
    seal = seal_of(page)
    if seal is None:
        raise UsageError(_no_sheet(path), "--sheet")
    return SheetRead(page, seal, is_pdf=False)


def _read_pdf(data: bytes, path: Path) -> SheetRead:
    page = attached(data)
    seal = None if page is None else seal_of(page)
    if page is None or seal is None:
        raise UsageError(_no_sheet(path), "--sheet")
    if not is_own_pdf(data):
        fault = "it was saved by another program since it was made, so its pages prove nothing"
        return SheetRead(page, seal, True, (fault,))
    if not is_pdf_unchanged(data):
        return SheetRead(page, seal, True, ("its bytes are not those that were written",))
    return SheetRead(page, seal, is_pdf=True)


def _no_sheet(path: Path) -> str:
    return (
        f"{path} is no sheet of this program, or what tells so was taken out of it. Make one with "
        "jbridge sheet SESSION."
    )


def check_sheet(sheet: SheetRead, folder: Path, make: Make) -> SheetFinding:
    """Hold a sheet against the record in a folder; raises what `whole` raises."""
    state, found = whole(folder)
    seal, faults, notes = sheet.seal, list(sheet.faults), []
    if not seal.is_unchanged:
        faults.append("it was changed since it was made: its digest does not fit")
    if seal.session != state.opened.session:
        faults.append(f"it is of session {seal.session}, this is {state.opened.session}")
        return SheetFinding(seal.session, seal.line, tuple(faults))
    then = found if seal.line == len(found.entries) else _at_line(folder, seal.line, found)
    if then is None or then.chain != seal.chain:
        faults.append(
            f"its chain value is not that of line {seal.line} of this record, so it was made from "
            "another one"
        )
        return SheetFinding(seal.session, seal.line, tuple(faults))
    if seal.line < len(found.entries):
        notes.append(
            f"it was made when the record had {seal.line} lines; now there are "
            f"{len(found.entries)}. Make a new one with jbridge sheet"
        )
    again = make(replay(then, folder), seal.line, seal.chain, seal.units)
    unlike = differences(sheet.page, again)
    if seal.program == __version__:
        faults += unlike
    elif unlike:
        notes.append(
            f"made by version {seal.program}, this is {__version__}, whose words may differ. "
            "Compare what it says with the record yourself, or verify it with that version"
        )
        notes += unlike
    head = letterhead_words(sheet.page)
    if head:
        notes.append(f"its head is the shop's, of which the record has nothing: {head}")
    if sheet.is_pdf:
        notes.append(
            "compared was the page that is attached to the PDF; that its printed pages show the "
            "same, their digest says alone"
        )
    return SheetFinding(seal.session, seal.line, tuple(faults), tuple(notes))


def _at_line(folder: Path, line: int, found: Scan) -> Scan | None:
    """The record as it was when it had so many lines; None if it never had."""
    if not 0 < line < len(found.entries):
        return None
    lines = plain_bytes(folder / LEDGER, MOST_BYTES).split(b"\n", line)[:line]
    return scan_bytes(b"\n".join([*lines, b""]), folder)
