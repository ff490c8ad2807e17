"""W3C CSV-on-the-Web metadata of the tables (Metadata Vocabulary for Tabular Data, 2015). Pure."""

import json
from typing import Any

from daq.export.column import SEPARATOR, Column, ColumnKind
from daq.export.tables import Table

_TYPES: dict[ColumnKind, object] = {
    ColumnKind.TEXT: "string",
    ColumnKind.LENGTH: "decimal",
    ColumnKind.NUMBER: "decimal",
    ColumnKind.WHOLE: "integer",
    ColumnKind.TIME: {"base": "dateTime", "format": "yyyy-MM-ddTHH:mm:ss.SSSSSSX"},
    ColumnKind.TRUTH: {"base": "boolean", "format": "true|false"},
    ColumnKind.DATE: {"base": "date", "format": "yyyy-MM-dd"},
    ColumnKind.HEX: "hexBinary",
    ColumnKind.HEX_TEXT: {"base": "string", "format": "hex( [0-9a-f]{2})+"},
    ColumnKind.FLAGS: "string",
    ColumnKind.LIST: "string",
    ColumnKind.OFFSET: {"base": "string", "format": "[+-][0-9]{2}:[0-9]{2}"},
}


def metadata(tables: tuple[Table, ...], session: str, verdict: str, chain: str) -> bytes:
    """The metadata file; `notes` hold session, verdict and the ledger's last chain value."""
    document = {
        "@context": "http://www.w3.org/ns/csvw",
        "dialect": {"encoding": "utf-8", "header": True, "lineTerminators": ["\r\n"]},
        "notes": [{"session_id": session, "session_verdict": verdict, "ledger_chain": chain}],
        "tables": [
            {
                "url": f"{table.name}.csv",
                "tableSchema": {"columns": [_column(column) for column in table.columns]},
            }
            for table in tables
        ],
    }
    return (json.dumps(document, indent=2, ensure_ascii=False) + "\n").encode("utf-8")


def _column(column: Column) -> dict[str, Any]:
    described: dict[str, Any] = {
        "name": column.name,
        "titles": column.name,
        "datatype": _TYPES[column.kind],
        "dc:description": column.meaning,
    }
    if column.kind in (ColumnKind.FLAGS, ColumnKind.LIST):
        described["separator"] = SEPARATOR
    return described
