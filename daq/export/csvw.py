"""W3C CSV-on-the-Web metadata of the tables (Metadata Vocabulary for Tabular Data, 2015). Pure.

Units stand as schema.org's `unitCode` (an address in QUDT) and `unitText` (the UCUM code): the
vocabulary has none of its own, and this prefix is one of those that every reader knows.
"""

import json
from typing import Any

from daq.export.column import SEPARATOR, Column, ColumnKind
from daq.export.dialect import PLAIN, WITH_DECIMALS, Dialect
from daq.export.keys import unit_of
from daq.export.tables import Table

HEX_TEXT_FORMAT = "hex( [0-9a-f]{2})+"

_TYPES: dict[ColumnKind, object] = {
    ColumnKind.TEXT: "string",
    ColumnKind.LENGTH: "decimal",
    ColumnKind.NUMBER: "decimal",
    ColumnKind.WHOLE: "integer",
    ColumnKind.TIME: {"base": "dateTime", "format": "yyyy-MM-ddTHH:mm:ss.SSSSSSX"},
    ColumnKind.TRUTH: {"base": "boolean", "format": "true|false"},
    ColumnKind.DATE: {"base": "date", "format": "yyyy-MM-dd"},
    ColumnKind.HEX: "hexBinary",
    ColumnKind.DIGEST: {"base": "string", "format": "[0-9a-f]{64}"},
    ColumnKind.HEX_TEXT: {"base": "string", "format": HEX_TEXT_FORMAT},
    ColumnKind.FLAGS: "string",
    ColumnKind.LIST: "string",
    ColumnKind.OFFSET: {"base": "string", "format": "[+-][0-9]{2}:[0-9]{2}"},
}


def metadata(
    tables: tuple[Table, ...], session: str, verdict: str, chain: str, dialect: Dialect = PLAIN
) -> bytes:
    """The metadata file; `notes` hold session, verdict and the ledger's last chain value."""
    how: dict[str, object] = {"encoding": "utf-8", "header": True, "lineTerminators": ["\r\n"]}
    if dialect.delimiter != ",":
        how["delimiter"] = dialect.delimiter
    document = {
        "@context": "http://www.w3.org/ns/csvw",
        "dialect": how,
        "notes": [{"session_id": session, "session_verdict": verdict, "ledger_chain": chain}],
        "tables": [
            {"url": f"{table.name}.csv", "tableSchema": _schema(table, dialect)} for table in tables
        ],
    }
    return (json.dumps(document, indent=2, ensure_ascii=False) + "\n").encode("utf-8")


def _schema(table: Table, dialect: Dialect) -> dict[str, Any]:
    keys = table.keys
    if keys is None:
        return {"columns": [_column(column, dialect) for column in table.columns]}
    schema: dict[str, Any] = {
        "columns": [
            _column(column, dialect) | _more(column, is_required=column.name in keys.required)
            for column in table.columns
        ]
    }
    if keys.primary:
        schema["primaryKey"] = list(keys.primary)
    if keys.foreign:
        schema["foreignKeys"] = [
            {
                "columnReference": list(key.columns),
                "reference": {"resource": f"{key.table}.csv", "columnReference": list(key.columns)},
            }
            for key in keys.foreign
        ]
    return schema


def _column(column: Column, dialect: Dialect) -> dict[str, Any]:
    described: dict[str, Any] = {
        "name": column.name,
        "titles": column.name,
        "datatype": _TYPES[column.kind],
        "dc:description": column.meaning,
    }
    if column.kind in WITH_DECIMALS and dialect.decimal != ".":
        described["datatype"] = {"base": "decimal", "format": {"decimalChar": dialect.decimal}}
    if column.kind in (ColumnKind.FLAGS, ColumnKind.LIST):
        described["separator"] = SEPARATOR
    return described


def _more(column: Column, *, is_required: bool) -> dict[str, Any]:
    """What is told of a column from rule set 3 on."""
    found: dict[str, Any] = {"required": True} if is_required else {}
    unit = unit_of(column)
    if unit is not None:
        found |= {"schema:unitCode": unit.qudt, "schema:unitText": unit.ucum}
    return found
