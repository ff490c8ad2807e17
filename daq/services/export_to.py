"""A closed session's tables in other formats, made outside its folder."""

import re
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

import msgspec

from daq.errors import UsageError
from daq.export.chosen import chosen
from daq.export.csv_files import table_files
from daq.export.dialect import DIALECTS, PLAIN
from daq.export.jsonl import json_lines
from daq.export.outside import outside_folder, write_folder, write_one
from daq.export.parquet import parquet_bytes
from daq.export.tables import Table, basis_of, every_table, tables
from daq.export.template import filled, read_template
from daq.export.xlsx import AnswerText, workbook
from daq.record.events import RULES
from daq.record.state import State
from daq.storage.ledger import Scan

CSV, XLSX, PARQUET, JSONL = FORMATS = ("csv", "xlsx", "parquet", "jsonl")

_TEMPLATE_ENDS = (".j2", ".jinja", ".jinja2", ".tmpl")
_END = re.compile(r"\.[0-9A-Za-z]{1,10}")
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class ExportWanted(msgspec.Struct, frozen=True, kw_only=True):
    """What was asked for. `columns`: names, none for all; `as_now`: with today's tables, whichever
    rule set closed the session.
    """

    format: str = CSV
    to: Path | None = None
    dialect: str | None = None
    columns: tuple[str, ...] = ()
    template: Path | None = None
    as_now: bool = False
    replace: bool = False


def check_wanted(wanted: ExportWanted) -> None:
    """Raises UsageError for options that do not go together. Only the tables of the record itself
    may lie beside it.
    """
    if wanted.format != CSV and (wanted.dialect or wanted.template):
        option = "--dialect" if wanted.dialect else "--template"
        raise UsageError(f"it goes with --format csv alone, not with {wanted.format}", option)
    if wanted.template and (wanted.dialect or wanted.columns):
        raise UsageError("a template chooses columns and decimal signs by itself", "--template")
    is_other = bool(wanted.dialect or wanted.columns or wanted.template or wanted.as_now)
    if wanted.to is None and (is_other or wanted.format != CSV):
        raise UsageError("say --to FOLDER, where these files are to be made", "--to")


def export_to(
    state: State, found: Scan, wanted: ExportWanted, answer: Sequence[AnswerText] = ()
) -> tuple[Path, tuple[str, ...]]:
    """Make the files, and give where and their names: a file named by the session's id, or a folder
    of that name. `answer` goes onto the first sheet of a workbook.

    Raises UsageError and ExportError.
    """
    assert wanted.to is not None
    name = re.sub(r"[^0-9A-Za-z-]", "_", state.opened.session)
    text = None if wanted.template is None else read_template(wanted.template)
    to = outside_folder(wanted.to)
    if text is not None and wanted.template is not None:
        now = every_table(basis_of(state, found.entries, found.chain), rules=RULES)
        path = to / f"{name}{_end_of(wanted.template)}"
        write_one(path, filled(text, tuple(now.values())), replace=wanted.replace)
        return path.parent, (path.name,)
    of_session = tables(state, found.entries, found.chain, rules=RULES if wanted.as_now else None)
    asked = chosen(of_session, wanted.columns) if wanted.columns else of_session
    if wanted.format == XLSX:
        path = to / f"{name}.xlsx"
        (journals,) = [table for table in of_session if table.name == "journals"]
        made = _EPOCH + timedelta(microseconds=state.last_us)
        write_one(path, workbook(answer, journals, asked, made), replace=wanted.replace)
        return path.parent, (path.name,)
    files = _files(state, found, wanted, asked)
    write_folder(to / name, files, replace=wanted.replace, chain=found.chain)
    return to / name, tuple(files)


def _files(
    state: State, found: Scan, wanted: ExportWanted, asked: tuple[Table, ...]
) -> Mapping[str, bytes]:
    assert state.closed is not None
    session, verdict = state.opened.session, state.closed.verdict
    match wanted.format:
        case "jsonl":
            return {f"{table.name}.jsonl": json_lines(table) for table in asked}
        case "parquet":
            notes = {"session_id": session, "session_verdict": verdict, "ledger_chain": found.chain}
            return {f"{table.name}.parquet": parquet_bytes(table, notes) for table in asked}
        case _:
            dialect = DIALECTS[wanted.dialect] if wanted.dialect else PLAIN
            return table_files(asked, session, verdict, found.chain, dialect)


def _end_of(template: Path) -> str:
    """How the name of what a template makes ends: as that of the template without its own end."""
    bare = template.with_suffix("") if template.suffix.lower() in _TEMPLATE_ENDS else template
    return bare.suffix if _END.fullmatch(bare.suffix) else ".txt"
