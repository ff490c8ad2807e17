"""A session as a workbook for a person: the answer on the first sheet, then a sheet a table.

Numbers are numbers, shown with the digits that they have; texts are texts, whatever they look like.
The only module that knows openpyxl, which it loads when called.
"""

import io
import re
from collections.abc import Callable, Iterator, Sequence
from copy import copy
from datetime import UTC, date, datetime
from decimal import Decimal
from textwrap import wrap
from typing import Any

import msgspec

from daq.errors import UsageError
from daq.export.column import ColumnKind
from daq.export.csv_files import hex_text
from daq.export.extras import NEEDS
from daq.export.tables import Table
from daq.export.typed_cell import Value, value_of

MOST_TEXT = 32767
"""Characters of a cell that spreadsheets take."""

MOST_DIGITS = 15
"""Significant digits of a number that spreadsheets keep; what has more is written as text."""

_SHORT = 10_000

CUT = " [cut here: {count} characters, whole in the CSV]"

_WIDEST = 60
_LINE_HIGH = 15
"""Points of a line of a heading."""
_LINE = 110
"""Characters of a line of the answer: as wide as its table."""
_AS_TEXT = "@"
_AS_DAY = "yyyy-mm-dd"

# XML 1.0 section 2.2 lacks these; a workbook reads _xHHHH_ as a character (ECMA-376-1 22.4.2.4).
_UNFIT = re.compile("[\x00-\x1f\x7f-\x9f\ufffe\uffff]")
_ESCAPE = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")

JOURNALS = (
    "journal",
    "group",
    "verdict",
    "smallest_mm",
    "smallest_at",
    "largest_mm",
    "low_limit_mm",
    "high_limit_mm",
    "margin_to_low_mm",
    "uncertainty_mm",
    "out_of_round_mm",
    "out_of_round_limit_mm",
    "taper_mm",
    "taper_limit_mm",
)
"""The columns of the table on the first sheet."""


class AnswerText(msgspec.Struct, frozen=True):
    """A line of the answer in words."""

    text: str
    is_bold: bool = False


def workbook(
    answer: Sequence[AnswerText], journals: Table, tables: Sequence[Table], made: datetime
) -> bytes:
    """The workbook's bytes; `made` is when the session ended.

    Raises UsageError where openpyxl is not installed.
    """
    try:
        import openpyxl  # noqa: PLC0415 - loads slowly, and is an extra
    except ImportError as error:
        raise UsageError(NEEDS.format(what="XLSX", library="openpyxl"), "--format") from error
    book = openpyxl.Workbook(write_only=True)
    book.properties.creator = "journalbridge"
    book.properties.created = book.properties.modified = made.astimezone(UTC).replace(tzinfo=None)
    _answer_sheet(_Pen(book.create_sheet("answer")), answer, journals)
    for table in tables:
        pen = _Pen(book.create_sheet(table.name))
        pen.sheet.freeze_panes = "A2"
        pen.widths([(column.name, cells) for column, cells in _by_column(table)])
        pen.head([column.name for column in table.columns])
        for row in table.rows:
            pen.row(
                _value(column.kind, cell) for column, cell in zip(table.columns, row, strict=True)
            )
        last = pen.letter(len(table.columns))
        pen.sheet.print_title_rows = "1:1"
        pen.sheet.auto_filter.ref = f"A1:{last}{len(table.rows) + 1}"
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def _by_column(table: Table) -> Iterator[tuple[Any, Sequence[str]]]:
    return zip(table.columns, table.cells, strict=True)


def _value(kind: ColumnKind, cell: str) -> Value:
    """As `value_of`; bytes are a text that stays one where the sheet is saved as CSV."""
    return hex_text(cell) if kind is ColumnKind.HEX_TEXT else value_of(kind, cell)


def _answer_sheet(pen: "_Pen", answer: Sequence[AnswerText], journals: Table) -> None:
    places = [journals.names.index(name) for name in JOURNALS if name in journals.names]
    columns = [journals.columns[place] for place in places]
    pen.widths(
        [
            (_heading(column.name), tuple(row[place] for row in journals.rows))
            for column, place in zip(columns, places, strict=True)
        ]
    )
    for line in answer:
        for part in wrap(fit(line.text), _LINE, break_on_hyphens=False):
            pen.text(part, is_bold=line.is_bold)
    if not journals.rows:
        return
    pen.text("")
    pen.head([_heading(column.name) for column in columns])
    for row in journals.rows:
        pen.row(value_of(journals.columns[place].kind, row[place]) for place in places)


def _heading(name: str) -> str:
    """A column's name for people: its unit behind it."""
    words = name.removesuffix("_mm").replace("_", " ")
    return f"{words}, mm" if name.endswith("_mm") else words


class _Pen:
    """Writes the rows of one sheet."""

    def __init__(self, sheet: Any) -> None:
        from openpyxl.cell import WriteOnlyCell  # noqa: PLC0415
        from openpyxl.styles import Alignment, Font  # noqa: PLC0415
        from openpyxl.utils import get_column_letter  # noqa: PLC0415
        from openpyxl.worksheet.properties import PageSetupProperties  # noqa: PLC0415

        self.sheet = sheet
        sheet.page_setup.orientation = "landscape"
        sheet.page_setup.fitToHeight = 0  # as many pages as it takes, each as wide as the table
        sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
        self.letter = get_column_letter
        self._new: Callable[[Any, Any], Any] = WriteOnlyCell
        self._bold = Font(name="Calibri", size=11, bold=True)
        self._wrapped = Alignment(wrap_text=True, vertical="top")
        self._styles: dict[str, Any] = {}
        self._widths: list[int] = []
        self._rows = 0

    def widths(self, columns: Sequence[tuple[str, Sequence[str]]]) -> None:
        """As wide as the longest cell, within bounds."""
        for number, (heading, cells) in enumerate(columns, 1):
            longest = max(map(len, (*heading.split(), *cells)))  # headings are wrapped
            width = min(longest + 3, _WIDEST)
            self.sheet.column_dimensions[self.letter(number)].width = width
            self._widths.append(width)

    def _append(self, cells: list[Any]) -> None:
        self.sheet.append(cells)
        self._rows += 1

    def text(self, text: str, *, is_bold: bool = False) -> None:
        """A row of one text."""
        self._append([self._heading(text) if is_bold else self._cell(text)])

    def head(self, names: Sequence[str]) -> None:
        """A row of headings, as high as the one with the most lines: not every program finds that
        by itself.
        """
        cells = [self._heading(name) for name in names]
        for cell in cells:
            cell.alignment = self._wrapped
        broken = (wrap(name, w - 2) for name, w in zip(names, self._widths, strict=True))
        lines = max(map(len, broken), default=1)
        self.sheet.row_dimensions[self._rows + 1].height = _LINE_HIGH * lines
        self._append(cells)

    def row(self, values: Iterator[Value]) -> None:
        """A row of values."""
        self._append([None if value is None else self._cell(value) for value in values])

    def _heading(self, text: str) -> Any:
        cell = self._cell(text)
        cell._style = copy(cell._style)  # the others of that style stay as they are
        cell.font = self._bold
        return cell

    def _in(self, number_format: str, value: object) -> Any:
        """A cell in a format, of which there is one style for all that have it: finding it anew for
        each cell would take most of the time.
        """
        cell = self._new(self.sheet, value)
        if number_format in self._styles:
            cell._style = self._styles[number_format]
        else:
            cell.number_format = number_format
            self._styles[number_format] = cell._style
        return cell

    def _cell(self, value: Value) -> Any:
        match value:
            case Decimal() if len(value.as_tuple().digits) <= MOST_DIGITS:
                return self._in(_shown_as(value), value)
            case Decimal():
                return self._cell(format(value, "f"))
            case datetime():
                return self._cell(value.isoformat(timespec="microseconds").replace("+00:00", "Z"))
            case date():
                return self._in(_AS_DAY, value)
            case int():  # and bool
                return self._new(self.sheet, value)
            case tuple():
                return self._cell("; ".join(value))
            case str() | None:
                cell = self._in(_AS_TEXT, fit(value or ""))
                cell.data_type = "s"  # not a formula, whatever it begins with, and no error
                return cell


def _shown_as(number: Decimal) -> str:
    """So many places as the number has."""
    exponent = number.as_tuple().exponent
    places = -exponent if isinstance(exponent, int) and exponent < 0 else 0
    return "0" + ("." + "0" * places if places else "")


def fit(text: str) -> str:
    """A text that a workbook can hold: control characters are written as \\xNN, and what is too
    long for a cell is cut, and says so.
    """
    if len(text) < _SHORT and text.isascii() and text.isprintable() and "_x" not in text:
        return text  # the usual case
    clean = _UNFIT.sub(lambda found: _escaped(found[0]), text)
    clean = _ESCAPE.sub("_x005F_", clean)
    if len(clean.encode("utf-16-le")) <= 2 * MOST_TEXT:
        return clean
    said = CUT.format(count=len(text))
    half = clean.encode("utf-16-le")[: 2 * (MOST_TEXT - len(said))]
    return half.decode("utf-16-le", errors="ignore") + said


def _escaped(char: str) -> str:
    return f"\\x{ord(char):02x}" if ord(char) < 0x100 else f"\\u{ord(char):04x}"
