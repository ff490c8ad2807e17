"""Tables as Parquet: lengths as exact decimals, lists as lists, units and meanings beside them.

The only module that knows pyarrow, which it loads when called.
"""

import io
from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from daq.errors import UsageError
from daq.export.column import Column, ColumnKind
from daq.export.dialect import WITH_DECIMALS
from daq.export.extras import NEEDS
from daq.export.keys import unit_of
from daq.export.tables import Table
from daq.export.typed_cell import value_of

if TYPE_CHECKING:
    import pyarrow as pa

DIGITS, PLACES = 38, 12
"""Of a decimal, and behind its sign: the same in every table, so that many sessions go together.
A column whose numbers do not fit has so many more as they need."""

MOST_DIGITS = 76
"""That Parquet's decimals have."""

AS_SENT = ("value", "resolution")
"""Columns of which the digits themselves tell something: beside the number stands the text."""


def parquet_bytes(table: Table, notes: dict[str, str]) -> bytes:
    """A table with `notes` on the whole. Raises UsageError where pyarrow is not installed."""
    try:
        import pyarrow as pa  # noqa: PLC0415 - loads slowly, and is an extra
        from pyarrow import parquet  # noqa: PLC0415
    except ImportError as error:
        raise UsageError(NEEDS.format(what="Parquet", library="pyarrow"), "--format") from error
    fields, arrays = [], []
    columns = table.cells
    for column, cells in zip(table.columns, columns, strict=True):
        array = _array(pa, column, cells)
        arrays.append(array)
        fields.append(pa.field(column.name, array.type, metadata=_told(column)))
        if column.name in AS_SENT:
            arrays.append(pa.array([cell or None for cell in cells], pa.string()))
            meaning = f"{column.name} as text, digit for digit"
            fields.append(
                pa.field(f"{column.name}_text", pa.string(), metadata={"description": meaning})
            )
    made = pa.Table.from_arrays(arrays, schema=pa.schema(fields, metadata=notes))
    buffer = io.BytesIO()
    parquet.write_table(made, buffer, compression="zstd")
    return buffer.getvalue()


def _told(column: Column) -> dict[str, str]:
    unit = unit_of(column)
    told = {"description": column.meaning}
    return told | ({"unit": unit.ucum, "unit_uri": unit.qudt} if unit else {})


def _array(pa: Any, column: Column, cells: Sequence[str]) -> "pa.Array":
    values = [value_of(column.kind, cell) for cell in cells]
    if column.kind in WITH_DECIMALS:
        return _decimals(pa, [each for each in values if isinstance(each, Decimal)], values)
    kinds = {
        ColumnKind.WHOLE: pa.int64(),
        ColumnKind.TIME: pa.timestamp("us", "UTC"),
        ColumnKind.DATE: pa.date32(),
        ColumnKind.TRUTH: pa.bool_(),
        ColumnKind.LIST: pa.list_(pa.string()),
        ColumnKind.FLAGS: pa.list_(pa.string()),
    }
    return pa.array(values, kinds.get(column.kind, pa.string()))


def _decimals(pa: Any, given: list[Decimal], values: list[Any]) -> "pa.Array":
    places = max([PLACES, *(max(0, -_exponent(each)) for each in given)])
    whole = max([DIGITS - PLACES, *(each.adjusted() + 1 for each in given if each)])
    if whole + places <= DIGITS:
        return pa.array(values, pa.decimal128(DIGITS, places))
    if whole + places <= MOST_DIGITS:
        return pa.array(values, pa.decimal256(MOST_DIGITS, places))
    return pa.array([None if each is None else format(each, "f") for each in values], pa.string())


def _exponent(number: Decimal) -> int:
    exponent = number.as_tuple().exponent
    return exponent if isinstance(exponent, int) else 0
