"""Keys, what is never empty, units: names of columns that are there, in every kind of session."""

from collections.abc import Callable
from pathlib import Path

import pytest

from daq.export.column import Column, ColumnKind
from daq.export.columns import columns_of
from daq.export.keys import KEYS, keys_among, unit_of
from tests.builders import ONE, Bench, accepted, opened, rejected, still_open, tables_of
from tests.daq.export.test_tables_study import study

NAMES = {table: [c.name for c in columns] for table, columns in columns_of(3).items()}


@pytest.mark.parametrize("table", NAMES)
def test_keys_are_columns_of_their_tables(table: str) -> None:
    keys = KEYS[table]
    assert set(keys.primary) | set(keys.required) <= set(NAMES[table])
    for key in keys.foreign:
        assert set(key.columns) <= set(NAMES[table]) & set(NAMES[key.table])


def test_a_key_goes_to_what_names_a_row_there() -> None:
    for table in NAMES:
        for key in KEYS[table].foreign:
            assert key.columns == KEYS[key.table].primary


@pytest.mark.parametrize("make", [accepted, rejected, still_open, study])
def test_rows_are_named_once_and_are_filled_where_it_says_so(
    tmp_path: Path, make: Callable[[Path], Bench]
) -> None:
    for table in tables_of(make(tmp_path / "s")):
        assert table.keys is not None
        rows = [dict(zip(table.names, row, strict=True)) for row in table.rows]
        named = [tuple(row[name] for name in table.keys.primary) for row in rows]
        assert len(set(named)) == len(rows)
        assert [(name, row) for row in rows for name in table.keys.required if not row[name]] == []


def test_a_study_has_no_key_to_groups_that_it_does_not_write(tmp_path: Path) -> None:
    journals = next(t for t in tables_of(study(tmp_path / "s")) if t.name == "journals")
    assert journals.keys is not None
    assert [key.table for key in journals.keys.foreign] == ["sessions"]


def test_of_some_columns_only_the_keys_that_are_whole_are_left() -> None:
    keys = keys_among("journals", ["session_id", "journal", "verdict"], ["journals", "groups"])
    assert (keys.primary, keys.required) == (
        ("session_id", "journal"),
        ("session_id", "journal", "verdict"),
    )
    assert keys.foreign == ()
    assert keys_among("journals", ["journal", "verdict"], ["journals"]).primary == ()


@pytest.mark.parametrize(
    ("name", "kind", "ucum", "qudt"),
    [
        # Source: UCUM 2.2, tables 2 and 3 and section 4: mm, deg, Cel; qudt.org/vocab/unit
        ("diameter_20c_mm", ColumnKind.LENGTH, "mm", "MilliM"),
        ("angle_deg", ColumnKind.WHOLE, "deg", "DEG"),
        ("part_temp_c", ColumnKind.NUMBER, "Cel", "DEG_C"),
    ],
)
def test_a_name_ends_in_its_unit(name: str, kind: ColumnKind, ucum: str, qudt: str) -> None:
    unit = unit_of(Column(name, kind, ""))
    assert unit is not None
    assert (unit.ucum, unit.qudt) == (ucum, f"http://qudt.org/vocab/unit/{qudt}")


def test_what_is_no_measure_or_says_its_unit_row_by_row_has_none() -> None:
    assert unit_of(Column("value", ColumnKind.LENGTH, "")) is None
    assert unit_of(Column("a_mm", ColumnKind.TEXT, "")) is None
    assert unit_of(Column("coverage_factor", ColumnKind.NUMBER, "")) is None


def test_every_length_but_value_and_resolution_has_a_unit() -> None:
    without = {
        column.name
        for columns in columns_of(3).values()
        for column in columns
        if column.kind is ColumnKind.LENGTH and unit_of(column) is None
    }
    assert without == {"value", "resolution"}


def test_a_part_of_a_key_that_may_be_empty_is_not_said_to_be_filled(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).close()  # its one group has no name
    by_name = {table.name: table for table in tables_of(bench)}
    for name in ("groups", "steps"):
        table = by_name[name]
        assert [row[table.names.index("group")] for row in table.rows] == [""]
        assert "group" in table.may_be_empty
    journals = by_name["journals"].keys
    assert journals is not None
    assert [key.table for key in journals.foreign] == ["sessions"], "an empty key refers to nothing"
