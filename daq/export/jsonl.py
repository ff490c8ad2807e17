"""Tables as JSON Lines: one object a row. Pure.

Lengths and other decimals are texts there, with the digits as they are in the tables: a number of
JSON becomes a binary float wherever it is read. What is empty is null.
"""

import json
from collections.abc import Mapping

from daq.export.column import ColumnKind
from daq.export.tables import Table
from daq.export.typed_cell import value_of

_AS_TEXT = (ColumnKind.LENGTH, ColumnKind.NUMBER, ColumnKind.TIME, ColumnKind.DATE)


def json_lines(table: Table) -> bytes:
    """A table, a line a row."""
    lines = (json.dumps(row, ensure_ascii=False) + "\n" for row in objects(table))
    return "".join(lines).encode("utf-8")


def objects(table: Table) -> list[Mapping[str, object]]:
    """The rows of a table by the names of their columns, as JSON knows them."""
    return [
        {
            column.name: _of(column.kind, cell)
            for column, cell in zip(table.columns, row, strict=True)
        }
        for row in table.rows
    ]


def _of(kind: ColumnKind, cell: str) -> object:
    return (cell or None) if kind in _AS_TEXT else value_of(kind, cell)
