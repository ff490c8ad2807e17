"""csv-metadata.json by the W3C's Metadata Vocabulary for Tabular Data (2015)."""

import csv
import io
import json
import re
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest

from daq.export.csv_files import csv_bytes, table_files
from tests.builders import SESSION, Bench, accepted, rejected, tables_of


def files_of(bench: Bench) -> dict[str, bytes]:
    assert bench.state.closed is not None
    return dict(
        table_files(tables_of(bench), SESSION, bench.state.closed.verdict, bench.manager.chain)
    )


def document(bench: Bench) -> dict[str, Any]:
    found = json.loads(files_of(bench)["csv-metadata.json"])
    assert isinstance(found, dict)
    return found


def test_the_context_is_that_of_the_vocabulary(tmp_path: Path) -> None:
    # Section 5.2: the value is this string, or a list that begins with it.
    assert document(accepted(tmp_path / "s"))["@context"] == "http://www.w3.org/ns/csvw"


def test_each_table_is_named_by_the_file_beside_it(tmp_path: Path) -> None:
    files = files_of(accepted(tmp_path / "s"))
    urls = [table["url"] for table in json.loads(files["csv-metadata.json"])["tables"]]
    assert urls == [
        "readings.csv",
        "checks.csv",
        "judgements.csv",
        "journals.csv",
        "groups.csv",
        "steps.csv",
        "sessions.csv",
        "notes.csv",
    ]
    assert set(files) == {*urls, "datapackage.json", "csv-metadata.json"}
    assert list(files)[-1] == "csv-metadata.json", "it is written when the tables stand"


def test_columns_are_the_headers_in_order(tmp_path: Path) -> None:
    bench = accepted(tmp_path / "s")
    files = files_of(bench)
    for table in document(bench)["tables"]:
        header = files[table["url"]].split(b"\r\n")[0].decode().split(",")
        columns = table["tableSchema"]["columns"]
        assert [column["name"] for column in columns] == header
        assert [column["titles"] for column in columns] == header


WANTED = {
    "job": "string",
    "angle_deg": "integer",
    "seq": "integer",
    "value": "decimal",
    "resolution": "decimal",
    "diameter_mm": "decimal",
    "raw_hex": "string",
    "correction_mm": "decimal",
    "closed_on": "date",
    "provisional": "string",
    "passed": "boolean",
    "typed": "boolean",
    "counted": "boolean",
    "taken_at": "dateTime",
    "mean_error_mm": "decimal",
    "out_of_round_at": "string",
    "positions_measured": "integer",
}


def base(datatype: object) -> str:
    """Section 5.11.2: a datatype is a name, or an object with its base."""
    found = datatype["base"] if isinstance(datatype, dict) else datatype
    assert isinstance(found, str)
    return found


def test_datatypes_are_what_the_columns_hold(tmp_path: Path) -> None:
    found = {
        column["name"]: base(column["datatype"])
        for table in document(accepted(tmp_path / "s"))["tables"]
        for column in table["tableSchema"]["columns"]
    }
    assert {name: found[name] for name in WANTED} == WANTED
    # Section 6.4.1 lists the built-in datatypes; every one used is among these.
    assert set(found.values()) <= {
        "string",
        "integer",
        "decimal",
        "boolean",
        "dateTime",
        "date",
    }


def is_decimal(cell: str) -> bool:
    return re.fullmatch(r"[+-]?\d+(\.\d+)?", cell) is not None


def is_time(cell: str) -> bool:
    """Microseconds of UTC with a Z."""
    datetime.strptime(cell, "%Y-%m-%dT%H:%M:%S.%f%z")
    return re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{6}Z", cell) is not None


IS_ONE: dict[str, Callable[[str], bool]] = {
    "string": lambda cell: True,
    "integer": str.isdecimal,
    "decimal": is_decimal,
    "boolean": lambda cell: cell in ("true", "false"),
    "dateTime": is_time,
    "date": lambda cell: date.fromisoformat(cell).isoformat() == cell,
}


@pytest.mark.parametrize("make", [accepted, rejected])
def test_every_cell_is_of_its_columns_datatype_or_empty(
    tmp_path: Path, make: Callable[[Path], Bench]
) -> None:
    bench = make(tmp_path / "s")
    files = files_of(bench)
    for described in document(bench)["tables"]:
        columns = described["tableSchema"]["columns"]
        rows = list(csv.reader(io.StringIO(files[described["url"]].decode(), newline="")))
        for row in rows[1:]:
            for column, cell in zip(columns, row, strict=True):
                kind = base(column["datatype"])
                assert not cell or IS_ONE[kind](cell), (described["url"], kind, cell)
                if cell and kind == "string" and isinstance(column["datatype"], dict):
                    # Section 6.4.6: the format of a string is a regular expression.
                    assert re.fullmatch(column["datatype"]["format"], cell), (column["name"], cell)


def test_bytes_are_described_as_a_text(tmp_path: Path) -> None:
    (column,) = [
        column
        for column in document(accepted(tmp_path / "s"))["tables"][0]["tableSchema"]["columns"]
        if column["name"] == "raw_hex"
    ]
    assert column["datatype"] == {"base": "string", "format": "hex( [0-9a-f]{2})+"}
    assert column["dc:description"] == (
        "the bytes of the frame: hex, then two hexadecimal digits for each"
    )


def test_every_list_names_its_separator_and_nothing_else_does(tmp_path: Path) -> None:
    found = {
        (table["url"], column["name"]): column["separator"]
        for table in document(accepted(tmp_path / "s"))["tables"]
        for column in table["tableSchema"]["columns"]
        if "separator" in column
    }
    assert found == {
        ("readings.csv", "flags"): ";",
        ("journals.csv", "taper_at"): ";",
        ("journals.csv", "angles_used"): ";",
        ("journals.csv", "gauge"): ";",
        ("groups.csv", "forced_by"): ";",
        ("groups.csv", "gauge"): ";",
        ("steps.csv", "gauge"): ";",
        ("sessions.csv", "gauge"): ";",
        ("sessions.csv", "reasons"): ";",
    }


@pytest.mark.parametrize(("make", "verdict"), [(accepted, "accepted"), (rejected, "rejected")])
def test_the_notes_hold_session_verdict_and_the_last_chain(
    tmp_path: Path, make: Callable[[Path], Bench], verdict: str
) -> None:
    bench = make(tmp_path / "s")
    last = (bench.folder / "ledger.jsonl").read_bytes().splitlines()[-1]
    assert document(bench)["notes"] == [
        {
            "session_id": SESSION,
            "session_verdict": verdict,
            "ledger_chain": last[-66:-2].decode(),  # 64 digits before "}
        }
    ]


def test_the_dialect_is_that_of_the_files(tmp_path: Path) -> None:
    bench = accepted(tmp_path / "s")
    dialect = document(bench)["dialect"]
    # Section 5.9: these are the names of the properties.
    assert (dialect["encoding"], dialect["header"], dialect["lineTerminators"]) == (
        "utf-8",
        True,
        ["\r\n"],
    )
    assert csv_bytes(tables_of(bench)[0]).endswith(b"\r\n")
