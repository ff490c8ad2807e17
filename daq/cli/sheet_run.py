"""A sheet made from a session's record, and held against it again."""

from pathlib import Path
from typing import BinaryIO

from daq.board.shown_lengths import ShownIn
from daq.cli.views.ended import ended
from daq.cli.views.sheet import content_of
from daq.errors import LedgerDamaged, Refused
from daq.record.state import State
from daq.services.own_files import write_own, write_own_bytes
from daq.services.sheet_check import SheetFinding, SheetRead, check_sheet
from daq.sheet.letterhead import Letterhead
from daq.sheet.page import page
from daq.sheet.seal import MARK, is_own_pdf

_PDF_TAIL = 128


def page_of(state: State, line: int, chain: str, units: str, shop: Letterhead | None) -> str:
    """The page of a session whose record has `line` lines and ends with `chain`; `units` is what
    --units said, empty for the plan's own. Raises UsageError for a gauge study.
    """
    show = ShownIn(units) if units in [one.value for one in ShownIn] else None
    return page(content_of(ended(state, show), line, chain, units), shop)


def refuse_study(state: State, folder: Path) -> None:
    """Raises Refused for a session that is about a gauge, not about a part for a customer."""
    if state.plan.study is not None:
        raise Refused(
            "gauge-study",
            f"Session {state.opened.session} is a gauge study: it is about the gauge, so there is "
            "no sheet of a part. This tells what it found",
        ).then("study", folder)


def write_page(path: Path, html: str, shop: Letterhead | None, *, replace: bool) -> None:
    """Write a page where it is wanted, as HTML or, by the name's end, as PDF."""
    if path.suffix.lower() == ".pdf":
        from daq.sheet.pdf import pdf_of  # noqa: PLC0415 - an extra

        data = pdf_of(html, shop.paper if shop is not None else "a4")
        write_own_bytes(path, data, is_own=_is_pdf, option="--output", replace=replace)
    else:
        write_own(path, html, mark=MARK, option="--output", replace=replace)


def _is_pdf(file: BinaryIO) -> bool:
    head = file.read(5)
    size = file.seek(0, 2)
    file.seek(max(0, size - _PDF_TAIL))
    return is_own_pdf(head + file.read())


def sheet_finding(sheet: SheetRead, folder: Path) -> SheetFinding:
    """Hold a sheet against a session's record; one that is damaged proves no sheet."""
    try:
        return check_sheet(
            sheet,
            folder,
            lambda state, line, chain, units: page_of(state, line, chain, units, None),
        )
    except LedgerDamaged:
        damaged = "the record is damaged, so there is nothing to hold the sheet against"
        return SheetFinding(sheet.seal.session, sheet.seal.line, (damaged,))
