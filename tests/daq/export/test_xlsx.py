"""The workbook: numbers are numbers with their digits, texts stay texts whatever they look like."""

import io
import sys
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from daq.errors import UsageError
from daq.export.column import Column, ColumnKind
from daq.export.csv_files import hex_text
from daq.export.tables import Table
from daq.export.xlsx import MOST_TEXT, AnswerText, fit, workbook
from tests.builders import tables_of
from tests.daq.export.awkward import awkward

MADE = datetime(2026, 11, 25, 8, tzinfo=UTC)


def opened(data: bytes) -> Any:
    import openpyxl

    return openpyxl.load_workbook(io.BytesIO(data))


def cell_of(kind: ColumnKind, text: str) -> Any:
    table = Table("t", (Column("a", kind, ""),), ((text,),))
    return opened(workbook([], table, [table], MADE))["t"]["A2"]


def test_the_answer_comes_first_then_a_sheet_a_table(tmp_path: Path) -> None:
    made = {table.name: table for table in tables_of(awkward(tmp_path / "s"))}
    said = [AnswerText("MAINS: may serve", is_bold=True), AnswerText("=no formula")]
    book = opened(workbook(said, made["journals"], list(made.values()), MADE))
    assert book.sheetnames == ["answer", *made]
    answer = book["answer"]
    assert (answer["A1"].value, answer["A1"].font.bold) == ("MAINS: may serve", True)
    assert (answer["A2"].value, answer["A2"].data_type) == ("=no formula", "s")
    head = [cell.value for cell in answer[4]]
    row = dict(zip(head, (cell.value for cell in answer[5]), strict=True))
    assert (row["journal"], row["verdict"], row["smallest, mm"]) == ("0047", "within", 59.97806)
    assert len(head) == 14
    for name, table in made.items():
        sheet = book[name]
        assert sheet.freeze_panes == "A2"
        assert sheet.auto_filter.ref.startswith("A1:")
        assert [cell.value for cell in sheet[1]] == list(table.names)
        assert all(cell.font.bold for cell in sheet[1])
        assert sheet.max_row == len(table.rows) + 1


def test_a_row_of_headings_is_as_high_as_its_lines(tmp_path: Path) -> None:
    made = {table.name: table for table in tables_of(awkward(tmp_path / "s"))}
    book = opened(workbook([AnswerText("a")], made["journals"], [made["checks"]], MADE))
    answer = book["answer"]
    # "out of round limit, mm" takes three lines in a column as wide as "round"; 15 points a line.
    assert answer["A3"].value == "journal"
    assert answer.row_dimensions[3].height >= 3 * 15
    assert answer.row_dimensions[4].height is None
    assert book["checks"].row_dimensions[1].height == 15


def test_every_cell_is_what_the_table_says(tmp_path: Path) -> None:
    made = tables_of(awkward(tmp_path / "s"))
    book = opened(workbook([], made[3], made, MADE))
    compared = 0
    for table in made:
        for cells, row in zip(table.rows, book[table.name].iter_rows(min_row=2), strict=True):
            for column, text, cell in zip(table.columns, cells, row, strict=True):
                if not text:
                    assert cell.value is None
                    continue
                compared += 1
                match column.kind:
                    case ColumnKind.LENGTH | ColumnKind.NUMBER:
                        assert cell.data_type == "n"
                        places = len(text.partition(".")[2])
                        assert cell.number_format == ("0." + "0" * places if places else "0")
                        assert f"{Decimal(repr(cell.value)):.{places}f}" == text
                    case ColumnKind.WHOLE:
                        assert cell.value == int(text)
                    case ColumnKind.TRUTH:
                        assert cell.value is (text == "true")
                    case ColumnKind.DATE:
                        assert cell.is_date
                        assert cell.value.date().isoformat() == text
                    case ColumnKind.LIST:
                        wanted = text.replace(";", "; ").replace(r"\x3b", ";")
                        assert (cell.value, cell.data_type) == (wanted, "s")
                    case ColumnKind.HEX_TEXT:
                        assert cell.value == hex_text(text)
                    case _:
                        assert (cell.value, cell.data_type) == (fit(text), "s")
                        assert cell.number_format == "@", "it stays a text when somebody edits it"
    assert compared > 300


@pytest.mark.parametrize("text", ["=1+2", "#N/A", "TRUE", "1E5", "0047", "-1", "2026-11-25", "'x"])
def test_a_text_is_a_text(text: str) -> None:
    cell = cell_of(ColumnKind.TEXT, text)
    assert (cell.value, cell.data_type) == (text, "s")


def test_what_has_more_digits_than_a_spreadsheet_keeps_is_a_text() -> None:
    assert cell_of(ColumnKind.LENGTH, "59.9806898123456").value == 59.9806898123456  # fifteen
    assert cell_of(ColumnKind.LENGTH, "59.98068981234567").value == "59.98068981234567"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("a\x00b\x1b[2J\x85", r"a\x00b\x1b[2J\x85"),
        ("\ufffe\uffff", r"\ufffe\uffff"),
        ("_x0041_ is no A", "_x005F_x0041_ is no A"),
        ("_x004_", "_x004_"),
        ("\u202eגל 🦀", "\u202eגל 🦀"),
        ("x" * MOST_TEXT, "x" * MOST_TEXT),
    ],
)
def test_a_text_is_made_fit(text: str, shown: str) -> None:
    assert fit(text) == shown


@pytest.mark.parametrize("char", ["x", "🦀"])
def test_what_is_too_long_for_a_cell_is_cut_and_says_so(char: str) -> None:
    found = fit(char * 65536)
    assert found.endswith(" [cut here: 65536 characters, whole in the CSV]")
    assert MOST_TEXT - 2 <= len(found.encode("utf-16-le")) // 2 <= MOST_TEXT
    assert cell_of(ColumnKind.TEXT, char * 65536).value == found


def test_without_its_library_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    with pytest.raises(UsageError, match=r"openpyxl, which is not installed: pip install .*format"):
        workbook([], Table("t", (), ()), [], MADE)
