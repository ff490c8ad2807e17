"""LibreOffice, set to English and to German, opens workbooks and tables with the right numbers."""

import csv
import json
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from daq.cli.app import run
from daq.export.xlsx import fit
from tests.builders import SESSION
from tests.system.spreadsheet.office import LOCALES, Office

NAMES = ("readings", "checks", "judgements", "journals", "groups", "steps", "sessions", "notes")
AS_TSV = "csv:Text - txt - csv (StarCalc):9,34,76,1,,0,false,true,true,false,false,-1"
"""All sheets, a tab between the cells, as they are shown."""

# How a column is opened, by the type that the metadata names: text, number with a decimal point,
# day written year first. It has no type for truths and times, so these are texts.
OPENED = {"string": 2, "decimal": 10, "integer": 10, "boolean": 2, "date": 5, "dateTime": 2}


def rows_of(path: Path) -> list[list[Any]]:
    sheet = openpyxl.load_workbook(path).active
    assert sheet is not None
    return [list(row) for row in sheet.iter_rows(values_only=True)]


def written(path: Path, delimiter: str = ",") -> list[list[str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.reader(file, delimiter=delimiter))


def types_of(folder: Path, table: str) -> list[str]:
    found = json.loads((folder / "csv-metadata.json").read_text(encoding="utf-8"))
    (schema,) = [one["tableSchema"] for one in found["tables"] if one["url"] == f"{table}.csv"]
    kinds = [column["datatype"] for column in schema["columns"]]
    return [kind["base"] if isinstance(kind, dict) else kind for kind in kinds]


def is_same(read: Any, cell: str, kind: str) -> bool:
    if not cell:
        return read is None
    if kind in ("decimal", "integer"):
        return not isinstance(read, str | bool) and Decimal(repr(read)) == Decimal(cell)
    if kind == "date":
        return bool(read.date() == date.fromisoformat(cell))
    return bool(read == cell)


@pytest.mark.parametrize("locale", LOCALES)
def test_by_the_types_of_the_metadata_every_value_of_the_tables_survives(
    folder: Path, tmp_path: Path, offices: Mapping[str, Office], locale: str
) -> None:
    for table in NAMES:
        kinds = types_of(folder, table)
        columns = "/".join(f"{number}/{OPENED[kind]}" for number, kind in enumerate(kinds, 1))
        how = f"44,34,76,1,{columns},0,false,false"
        offices[locale].convert(folder / f"{table}.csv", tmp_path, "xlsx", read_as=how)
        found = rows_of(tmp_path / f"{table}.xlsx")
        for row, cells in zip(found, written(folder / f"{table}.csv"), strict=True):
            if cells[0] == "session_id":
                continue
            for read, cell, kind in zip(row, cells, kinds, strict=True):
                assert is_same(read, cell, kind), (table, kind, cell, read)


def test_the_comma_dialect_has_the_right_numbers_where_the_decimal_sign_is_a_comma(
    folder: Path, tmp_path: Path, offices: Mapping[str, Office]
) -> None:
    assert run(["export", str(folder), "--dialect", "comma", "--to", str(tmp_path)]) == 0
    for table in NAMES:
        path = tmp_path / SESSION / f"{table}.csv"
        offices["de"].convert(path, tmp_path, "xlsx", read_as="59,34,76,1")  # nothing told of types
        kinds, seen = types_of(folder, table), 0
        found = rows_of(tmp_path / f"{table}.xlsx")
        plain = written(folder / f"{table}.csv")
        for row, cells in zip(found[1:], plain[1:], strict=True):
            for read, cell, kind in zip(row, cells, kinds, strict=True):
                if kind in ("decimal", "integer", "date"):
                    seen += bool(cell)
                    assert is_same(read, cell, kind), (table, cell, read)
        assert seen


def in_one_way(text: str) -> str:
    """A list as the workbook and the CSV write it."""
    return text.replace(r"\x3b", ";").replace("; ", ";")


@pytest.mark.parametrize("locale", LOCALES)
def test_a_workbook_has_the_values_and_shows_their_digits(
    folder: Path, tmp_path: Path, offices: Mapping[str, Office], locale: str
) -> None:
    assert run(["export", str(folder), "--format", "xlsx", "--to", str(tmp_path)]) == 0
    again, shown = tmp_path / "again", tmp_path / "shown"
    offices[locale].convert(tmp_path / f"{SESSION}.xlsx", again, "xlsx")
    offices[locale].convert(tmp_path / f"{SESSION}.xlsx", shown, AS_TSV)
    book = openpyxl.load_workbook(again / f"{SESSION}.xlsx")
    assert book.sheetnames == ["answer", *NAMES]
    point = "," if locale == "de" else "."
    compared = 0
    for table in NAMES:
        kinds, plain = types_of(folder, table), written(folder / f"{table}.csv")
        sheet, seen = book[table], written(shown / f"{SESSION}-{table}.csv", "\t")
        for row, cells, texts in zip(
            list(sheet.iter_rows(values_only=True))[1:], plain[1:], seen[1:], strict=True
        ):
            for read, cell, text, kind in zip(row, cells, texts, kinds, strict=True):
                if kind in ("decimal", "integer", "date"):
                    assert is_same(read, cell, kind), (table, cell, read)
                if kind == "decimal":
                    assert text == cell.replace(".", point), "digit for digit, zeros too"
                if kind == "string" and cell:
                    given = cell[1:] if cell[0] == "'" else cell
                    assert isinstance(read, str)
                    assert in_one_way(read) == in_one_way(fit(given))
                compared += bool(cell)
    assert compared > 300
    answer = written(shown / f"{SESSION}-answer.csv", "\t")
    assert answer[1][0] == "007: may serve by size (out-of-round was not seen)."
    assert [row[3] for row in answer if row[0] == "0047"] == [f"59{point}97806"]
