"""Parquet: exact decimals of one type, the digits as sent beside them, lists, units."""

import io
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from daq.errors import UsageError
from daq.export.column import Column, ColumnKind
from daq.export.parquet import parquet_bytes
from daq.export.tables import Table
from tests.builders import tables_of
from tests.daq.export.awkward import awkward


def read(table: Table) -> Any:
    from pyarrow import parquet

    return parquet.read_table(io.BytesIO(parquet_bytes(table, {"ledger_chain": "ab"})))


def test_every_cell_survives(tmp_path: Path) -> None:
    for table in tables_of(awkward(tmp_path / "s")):
        found = read(table)
        places = {name: place for place, name in enumerate(table.names)}
        assert [name for name in found.column_names if not name.endswith("_text")] == list(places)
        for row, cells in zip(found.to_pylist(), table.rows, strict=True):
            for column in table.columns:
                told, cell = row[column.name], cells[places[column.name]]
                assert (told is None) is (not cell), (table.name, column.name)
                if not cell:
                    continue
                match column.kind:
                    case ColumnKind.LENGTH | ColumnKind.NUMBER:
                        assert told == Decimal(cell)
                    case ColumnKind.TIME:
                        assert told == datetime.fromisoformat(cell)
                        assert told.tzinfo is not None
                        assert told.utcoffset() == datetime.now(UTC).utcoffset()
                    case ColumnKind.DATE:
                        assert told == date.fromisoformat(cell)
                    case ColumnKind.LIST:
                        assert ";".join(each.replace(";", r"\x3b") for each in told) == cell
                    case ColumnKind.TRUTH:
                        assert str(told).lower() == cell
                    case _:
                        assert str(told) == cell
            if "value" in row:
                assert row["value_text"] == cells[places["value"]], "with the zeros at its end"


def test_units_meanings_and_the_chain_stand_beside(tmp_path: Path) -> None:
    journals = next(t for t in tables_of(awkward(tmp_path / "s")) if t.name == "journals")
    schema = read(journals).schema
    assert schema.metadata[b"ledger_chain"] == b"ab"
    told = schema.field("smallest_mm").metadata
    assert told[b"unit"] == b"mm"
    assert told[b"description"].startswith(b"smallest estimate")


@pytest.mark.parametrize(
    ("cell", "kind"),
    [
        ("", "decimal128(38, 12)"),  # the same type whatever stands in it
        ("59.980", "decimal128(38, 12)"),
        ("12345678901234567890123456.5", "decimal128(38, 12)"),
        ("0." + "0" * 19 + "1", "decimal256(76, 20)"),
        ("1" + "0" * 30, "decimal256(76, 12)"),
        ("1" * 80, "string"),  # no decimal holds it
    ],
)
def test_a_decimal_is_as_wide_as_it_must_be(cell: str, kind: str) -> None:
    table = Table("t", (Column("a_mm", ColumnKind.LENGTH, ""),), ((cell,), ("",)))
    found = read(table)
    assert str(found.schema.field("a_mm").type) == kind
    assert found.to_pylist()[0]["a_mm"] == (
        None if not cell else cell if kind == "string" else Decimal(cell)
    )


def test_without_its_library_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(UsageError, match=r"pyarrow, which is not installed: pip install .*formats"):
        parquet_bytes(Table("t", (), ()), {})
