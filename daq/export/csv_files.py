"""The tables on disk: RFC 4180 CSV with W3C metadata beside it, each file whole or not at all."""

import codecs
import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from daq.errors import ExportError
from daq.export.column import SEPARATOR, ColumnKind
from daq.export.csvw import metadata
from daq.export.datapackage import datapackage
from daq.export.dialect import PLAIN, WITH_DECIMALS, Dialect
from daq.export.tables import Table, tables
from daq.record.state import State
from daq.storage.durable import sync_folder, what_helps, write_whole
from daq.storage.ledger import PLAN_COPY, Scan
from daq.storage.whole import DATAPACKAGE, METADATA, WRITTEN

_PART = re.compile(
    rf"\.({'|'.join(map(re.escape, (*WRITTEN, PLAN_COPY)))})\.[0-9A-Za-z]+\.part",
    re.ASCII,
)
"""The name under which `write_whole` begins a file of a session."""

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""First characters that a spreadsheet takes for a formula (OWASP, CSV injection), with their
full-width forms."""


def guarded(text: str) -> str:
    """Free text as a table may hold it: no formula, no control characters; numbers never pass here.

    A text that would start a formula gets a leading apostrophe, a control character becomes \\xNN.
    """
    shown = text if text.isprintable() else _CONTROL.sub(_escaped, text)
    return f"'{shown}" if text.startswith(_FORMULA) else shown


_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f]")


def _escaped(found: re.Match[str]) -> str:
    return f"\\x{ord(found[0]):02x}"


def hex_text(raw_hex: str) -> str:
    """Bytes as a text: `hex 35 39 2e`. Digits alone would be read as a number, 3e8 as a large one
    and 35-39 as a date.
    """
    pairs = [raw_hex[at : at + 2] for at in range(0, len(raw_hex), 2)]
    return " ".join(["hex", *pairs]) if pairs else ""


def _guarded_list(cell: str) -> str:
    """Each element is guarded: a reader may part them."""
    return SEPARATOR.join(map(guarded, cell.split(SEPARATOR)))


_SHOWN: Mapping[ColumnKind, Callable[[str], str]] = {
    ColumnKind.TEXT: guarded,
    ColumnKind.LIST: _guarded_list,
    ColumnKind.FLAGS: _guarded_list,
    ColumnKind.HEX_TEXT: hex_text,
}
"""How the file has the cells of a column; those of other kinds it has as they are."""


def _column(kind: ColumnKind, cells: Sequence[str], dialect: Dialect) -> Sequence[str]:
    """A column as the file has it. Most cells stand in many rows, and few have to be changed."""
    if kind in WITH_DECIMALS:
        if dialect.decimal == ".":
            return cells
        return [cell.replace(".", dialect.decimal) for cell in cells]
    show = _SHOWN.get(kind)
    if show is None:
        return cells
    changed = {cell: shown for cell in set(cells) if (shown := show(cell)) != cell}
    return [changed.get(cell, cell) for cell in cells] if changed else cells


def csv_bytes(table: Table, dialect: Dialect = PLAIN) -> bytes:
    """A table as RFC 4180: UTF-8, CRLF, a header line.

    As `csv` writes it, but column by column: few columns have a cell that must be quoted, and the
    others are only joined.
    """
    columns = zip(table.columns, table.cells, strict=True)
    shown = [_column(column.kind, cells, dialect) for column, cells in columns]
    titled = [(name, *cells) for name, cells in zip(table.names, shown, strict=True)]
    quoted = [_quoted(cells, dialect.delimiter, is_alone=len(titled) == 1) for cells in titled]
    rows = map(dialect.delimiter.join, zip(*quoted, strict=True))
    mark = codecs.BOM_UTF8 if dialect.has_mark else b""
    return mark + "\r\n".join((*rows, "")).encode("utf-8")


def _quoted(cells: Sequence[str], delimiter: str, *, is_alone: bool) -> Sequence[str]:
    """Cells in quotes where they hold what parts cells or rows, or a quote; an empty one if it is
    alone in its row, which would be no row else.
    """
    together = "".join(cells)
    parting = [char for char in (delimiter, '"', "\r", "\n") if char in together]
    if not parting and not is_alone:
        return cells
    return [
        '"{}"'.format(cell.replace('"', '""'))
        if any(char in cell for char in parting) or (is_alone and not cell)
        else cell
        for cell in cells
    ]


def table_files(
    tables: tuple[Table, ...], session: str, verdict: str, chain: str, dialect: Dialect = PLAIN
) -> Mapping[str, bytes]:
    """The files of a session by name; the metadata comes last. Tables without keys, as earlier
    rule sets had them, have no second description.
    """
    files = {f"{table.name}.csv": csv_bytes(table, dialect) for table in tables}
    if any(table.keys for table in tables):
        files[DATAPACKAGE] = datapackage(tables, files, session, chain, dialect)
    files[METADATA] = metadata(tables, session, verdict, chain, dialect)
    return files


def files_of(state: State, found: Scan) -> Mapping[str, bytes]:
    """The files of a closed session by name, by its ledger as it lies on the disk."""
    assert state.closed is not None
    of_session = tables(state, found.entries, found.chain)
    return table_files(of_session, state.opened.session, state.closed.verdict, found.chain)


def write_files(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write each file whole: under a temporary name, flushed to disk, then renamed.

    Raises ExportError naming the file.
    """
    for name, data in files.items():
        try:
            write_whole(folder / name, data)
        except OSError as error:
            raise _not_written(folder / name, error) from error
    try:
        _clear_parts(folder)
        sync_folder(folder)
    except OSError as error:
        raise _not_written(folder, error) from error


def _clear_parts(folder: Path) -> None:
    """Take away what a write that was cut off has left: nobody writes here but who has the hold of
    the session.
    """
    for path in folder.glob(".*.part"):
        if _PART.fullmatch(path.name):
            path.unlink(missing_ok=True)


def _not_written(path: Path, error: OSError) -> ExportError:
    return ExportError(
        f"{path} could not be written: {error.strerror}. Nothing measured is lost. "
        f"{what_helps(error)}, then write the tables again"
    )
