"""JSON Lines: digits as texts, lists as lists, texts as they were given."""

import json
from pathlib import Path

from daq.export.jsonl import json_lines
from tests.builders import accepted, opened, tables_of


def test_a_row_is_an_object_a_line(tmp_path: Path) -> None:
    bench = accepted(tmp_path / "s", opened(job="=1+2", operator="a\nb"))
    by_name = {table.name: table for table in tables_of(bench)}
    rows = [json.loads(line) for line in json_lines(by_name["readings"]).splitlines()]
    assert len(rows) == 6
    first = rows[0]
    assert list(first) == list(by_name["readings"].names)
    assert (first["value"], first["resolution"]) == ("59.980", "0.001")
    assert (first["seq"], first["typed"], first["flags"]) == (6, False, None)
    assert (first["job"], first["operator"]) == ("=1+2", "a\nb")
    assert first["raw_hex"] == "35392e393830206d6d"
    assert first["taken_at"] == "2026-11-25T08:00:03.000000Z"
    journal = json.loads(json_lines(by_name["journals"]).splitlines()[0])
    assert journal["angles_used"] == ["0", "90"]
    assert journal["closed_on"] == "2026-11-25"


def test_a_table_without_rows_is_an_empty_file(tmp_path: Path) -> None:
    notes = next(t for t in tables_of(accepted(tmp_path / "s")) if t.name == "notes")
    assert json_lines(notes) == b""
