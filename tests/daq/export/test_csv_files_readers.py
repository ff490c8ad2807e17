"""Tables of a session full of awkward texts, read by other programs: by the types of the metadata
every value survives digit for digit; without them nothing becomes something else but what the guide
names.
"""

import csv
import json
import math
import re
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeAlias

import pandas as pd
import pytest

from tests.places import ROOT

Rows: TypeAlias = list[dict[str, Any]]
Types: TypeAlias = Mapping[str, Mapping[str, str]]
NAMES = ("readings", "checks", "judgements", "journals", "groups", "steps", "sessions", "notes")


@pytest.fixture(scope="module")
def types(folder: Path) -> Types:
    """By table and column the base type that the metadata names."""
    found = json.loads((folder / "csv-metadata.json").read_text(encoding="utf-8"))
    return {
        table["url"].removesuffix(".csv"): {
            column["name"]: _base(column["datatype"]) for column in table["tableSchema"]["columns"]
        }
        for table in found["tables"]
    }


def _base(datatype: Any) -> str:
    base = datatype["base"] if isinstance(datatype, dict) else datatype
    assert isinstance(base, str)
    return base


def as_written(folder: Path, table: str) -> list[dict[str, str]]:
    with (folder / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


VALUES: Mapping[str, Callable[[str], object]] = {
    "string": str,
    "decimal": Decimal,
    "integer": int,
    "boolean": {"true": True, "false": False}.__getitem__,
    "date": date.fromisoformat,
    "dateTime": datetime.fromisoformat,
}
"""What a text of the file stands for, by its type."""


def meant(folder: Path, table: str, types: Mapping[str, str]) -> Rows:
    return [
        {name: VALUES[types[name]](cell) if cell else None for name, cell in row.items()}
        for row in as_written(folder, table)
    ]


def test_every_type_and_every_awkward_text_is_there(folder: Path, types: Types) -> None:
    assert tuple(types) == NAMES
    assert {base for columns in types.values() for base in columns.values()} == set(VALUES)
    cells = {cell for name in NAMES for row in as_written(folder, name) for cell in row.values()}
    assert cells >= {"0047", "1E5", "NA", "TRUE", "007", "0.50", "'-1", "'=1+2", "nan", "59,982"}


# With types ---------------------------------------------------------------------------------------


def test_pandas_reads_every_value_digit_for_digit(folder: Path, types: Types) -> None:
    for table, columns in types.items():
        frame = pd.read_csv(
            folder / f"{table}.csv",
            dtype=dict.fromkeys(columns, "string"),
            keep_default_na=False,
            na_values=[""],
        )
        for name, base in columns.items():
            cells = [None if pd.isna(cell) else VALUES[base](cell) for cell in frame[name]]
            assert cells == [row[name] for row in meant(folder, table, columns)], (table, name)


def test_polars_reads_every_value_digit_for_digit(folder: Path, types: Types) -> None:
    import polars as pl

    kinds: dict[str, Any] = {
        "string": pl.String,
        "decimal": pl.Decimal(38, 12),
        "integer": pl.Int64,
        "boolean": pl.Boolean,
        "date": pl.Date,
        "dateTime": pl.String,  # read as texts, then as times
    }
    for table, columns in types.items():
        schema = {name: kinds[base] for name, base in columns.items()}
        times = [name for name, base in columns.items() if base == "dateTime"]
        frame = pl.read_csv(folder / f"{table}.csv", schema=schema).with_columns(
            pl.col(times).str.to_datetime("%Y-%m-%dT%H:%M:%S%.fZ", time_zone="UTC")
        )
        assert frame.to_dicts() == meant(folder, table, columns), table


def test_duckdb_reads_every_value_digit_for_digit(folder: Path, types: Types) -> None:
    import duckdb

    kinds = {
        "string": "VARCHAR",
        "decimal": "DECIMAL(38,12)",
        "integer": "BIGINT",
        "boolean": "BOOLEAN",
        "date": "DATE",
        "dateTime": "TIMESTAMP",
    }
    with duckdb.connect() as base:
        for table, columns in types.items():
            found = base.execute(
                "SELECT * FROM read_csv(?, columns = ?, header = true, auto_detect = false, "
                "delim = ',', quote = '\"', escape = '\"', nullstr = '', new_line = '\\r\\n', "
                "timestampformat = '%Y-%m-%dT%H:%M:%S.%fZ')",
                [str(folder / f"{table}.csv"), {name: kinds[of] for name, of in columns.items()}],
            )
            rows = [dict(zip(columns, row, strict=True)) for row in found.fetchall()]
            assert [_in_utc(row) for row in rows] == meant(folder, table, columns), table


def _in_utc(row: Mapping[str, Any]) -> dict[str, Any]:
    return {
        name: cell.replace(tzinfo=UTC) if isinstance(cell, datetime) else cell
        for name, cell in row.items()
    }


def test_arrow_reads_every_value_digit_for_digit(folder: Path, types: Types) -> None:
    import pyarrow as pa
    from pyarrow import csv as pa_csv

    kinds = {
        "string": pa.string(),
        "decimal": pa.decimal128(38, 12),
        "integer": pa.int64(),
        "boolean": pa.bool_(),
        "date": pa.date32(),
        "dateTime": pa.timestamp("us", "UTC"),
    }
    for table, columns in types.items():
        options = pa_csv.ConvertOptions(
            column_types={name: kinds[base] for name, base in columns.items()},
            strings_can_be_null=True,
            null_values=[""],
        )
        found = pa_csv.read_csv(folder / f"{table}.csv", convert_options=options)
        assert found.to_pylist() == meant(folder, table, columns), table


def test_sqlite_holds_every_value_digit_for_digit(folder: Path, types: Types) -> None:
    """It has no decimal type: lengths are texts there, digit for digit, and numbers where asked."""
    kinds = {"integer": "INTEGER"}
    with sqlite3.connect(":memory:") as base:
        for table, columns in types.items():
            as_told = ", ".join(f'"{name}" {kinds.get(of, "TEXT")}' for name, of in columns.items())
            base.execute(f"CREATE TABLE {table} ({as_told}) STRICT")
            marks = ", ".join("NULLIF(?, '')" for _ in columns)
            written = as_written(folder, table)
            base.executemany(
                f"INSERT INTO {table} VALUES ({marks})", [tuple(row.values()) for row in written]
            )
            found = base.execute(f"SELECT * FROM {table}").fetchall()
            assert [["" if cell is None else str(cell) for cell in row] for row in found] == [
                list(row.values()) for row in written
            ], table
        (largest,) = base.execute("SELECT MAX(CAST(value AS REAL)) FROM readings").fetchone()
    assert largest == 59.982


# Without types ------------------------------------------------------------------------------------

GUESSED = re.compile(r"\*\*A reader that guesses\*\*(.+?)\n\n", re.DOTALL)


def named_by_the_guide() -> set[str]:
    """The columns of which the guide says that a reader may take their texts for something else."""
    text = (ROOT / "daq/guide/texts/data.md").read_text(encoding="utf-8")
    (said,) = GUESSED.findall(text)
    (columns,) = re.findall(r"so it is in the columns(.+?)\.", said, re.DOTALL)
    return set(re.findall(r"`(\w+)`", columns))


def _by_pandas(path: Path) -> Rows:
    return [{str(name): cell for name, cell in row.items()} for row in _records(pd.read_csv(path))]


def _records(frame: pd.DataFrame) -> list[dict[Any, Any]]:
    return frame.to_dict("records")


def _by_polars(path: Path) -> Rows:
    import polars as pl

    return pl.read_csv(path, try_parse_dates=True).to_dicts()


def _by_duckdb(path: Path) -> Rows:
    import duckdb

    found = duckdb.sql(f"SELECT * FROM read_csv('{path}')")
    assert found is not None
    return [dict(zip(found.columns, row, strict=True)) for row in found.fetchall()]


def _by_arrow(path: Path) -> Rows:
    from pyarrow import csv as pa_csv

    rows: Rows = pa_csv.read_csv(path).to_pylist()
    return rows


READERS = {"pandas": _by_pandas, "polars": _by_polars, "duckdb": _by_duckdb, "arrow": _by_arrow}


@pytest.mark.parametrize("reader", READERS)
def test_a_reader_that_guesses_takes_nothing_for_something_else_but_what_the_guide_names(
    folder: Path, types: Types, reader: str
) -> None:
    found = set()
    for table, columns in types.items():
        rows = READERS[reader](folder / f"{table}.csv")
        for row, cells in zip(rows, as_written(folder, table), strict=True):
            found |= {
                name for name, base in columns.items() if not _is_kept(row[name], cells[name], base)
            }
    assert found <= named_by_the_guide(), "read otherwise, and not told"
    assert {"job", "gauge"} <= found or reader == "duckdb"
    assert "gauge" in found, "the awkward texts are awkward"


def _is_kept(read: Any, cell: str, base: str) -> bool:
    """A cell that was guessed is the text itself, or of its own type the value that it stands for;
    nothing stands for an empty one.
    """
    if read is None or (isinstance(read, float) and math.isnan(read)):
        return not cell
    if isinstance(read, str):
        return read == cell
    if base == "string" or not cell:
        return False
    value = VALUES[base](cell)
    if isinstance(value, Decimal):
        return Decimal(str(read)) == value
    if isinstance(value, datetime):
        return isinstance(read, datetime) and _in_utc({"": read})[""] == value
    return bool(read == value)


def test_a_guess_keeps_no_zeros_at_the_end_as_the_guide_says(folder: Path) -> None:
    read = pd.read_csv(folder / "readings.csv")["value"]
    assert [str(value) for value in read][:1] == ["59.98"]
    assert as_written(folder, "readings")[0]["value"] == "59.980"
    text = (ROOT / "daq/guide/texts/data.md").read_text(encoding="utf-8")
    assert "turns 59.980 into 59.98" in text


def test_all_columns_that_the_guide_names_are_there(
    types: Types,
) -> None:
    def named() -> Iterator[str]:
        for columns in types.values():
            yield from (name for name, base in columns.items() if base == "string")

    assert named_by_the_guide() <= set(named())
