"""The Frictionless description of the tables (Data Package 2.0, 2024): the same keys and types as
the W3C metadata has, and the size and SHA-256 of each file. Pure.
"""

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from daq.export.column import SEPARATOR, Column, ColumnKind
from daq.export.csvw import HEX_TEXT_FORMAT
from daq.export.dialect import PLAIN, WITH_DECIMALS, Dialect
from daq.export.keys import unit_of
from daq.export.tables import Table

_TYPES: Mapping[ColumnKind, Mapping[str, object]] = {
    ColumnKind.LENGTH: {"type": "number"},
    ColumnKind.NUMBER: {"type": "number"},
    ColumnKind.WHOLE: {"type": "integer"},
    ColumnKind.TIME: {"type": "datetime", "format": "%Y-%m-%dT%H:%M:%S.%fZ"},
    ColumnKind.DATE: {"type": "date"},
    ColumnKind.TRUTH: {"type": "boolean", "trueValues": ["true"], "falseValues": ["false"]},
    ColumnKind.FLAGS: {"type": "list", "delimiter": SEPARATOR},
    ColumnKind.LIST: {"type": "list", "delimiter": SEPARATOR},
}
_PATTERNS = {
    ColumnKind.HEX: "([0-9a-f]{2})+",
    ColumnKind.HEX_TEXT: HEX_TEXT_FORMAT,
    ColumnKind.DIGEST: "[0-9a-f]{64}",
    ColumnKind.OFFSET: "[+-][0-9]{2}:[0-9]{2}",
}


def datapackage(
    tables: tuple[Table, ...],
    files: Mapping[str, bytes],
    session: str,
    chain: str,
    dialect: Dialect = PLAIN,
) -> bytes:
    """The description of tables that have keys; `files` are their bytes by name."""
    document = {
        "$schema": "https://datapackage.org/profiles/2.0/datapackage.json",
        "name": session.lower(),
        "id": session,
        "title": f"Session {session}",
        "ledger_chain": chain,
        "resources": [_resource(table, files[f"{table.name}.csv"], dialect) for table in tables],
    }
    return (json.dumps(document, indent=2, ensure_ascii=False) + "\n").encode("utf-8")


def _resource(table: Table, data: bytes, dialect: Dialect) -> dict[str, Any]:
    return {
        "name": table.name,
        "type": "table",
        "path": f"{table.name}.csv",
        "scheme": "file",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8-sig" if dialect.has_mark else "utf-8",
        "bytes": len(data),
        "hash": f"sha256:{hashlib.sha256(data).hexdigest()}",
        "dialect": {"csv": {"delimiter": dialect.delimiter, "lineTerminator": "\r\n"}},
        "schema": _schema(table, dialect),
    }


def _schema(table: Table, dialect: Dialect) -> dict[str, Any]:
    keys = table.keys
    required = keys.required if keys else ()
    schema: dict[str, Any] = {
        "fields": [
            _field(column, is_required=column.name in required, dialect=dialect)
            for column in table.columns
        ],
        "missingValues": [""],
    }
    if keys is None:
        return schema
    # A key of this format may have no empty part.
    if keys.primary and set(keys.primary) <= set(keys.required):
        schema["primaryKey"] = list(keys.primary)
    schema["foreignKeys"] = [
        {
            "fields": list(key.columns),
            "reference": {"resource": key.table, "fields": list(key.columns)},
        }
        for key in keys.foreign
    ]
    return schema


def _field(column: Column, *, is_required: bool, dialect: Dialect) -> dict[str, Any]:
    found: dict[str, Any] = {
        "name": column.name,
        "description": column.meaning,
        **_TYPES.get(column.kind, {"type": "string"}),
    }
    if column.kind in WITH_DECIMALS and dialect.decimal != ".":
        found["decimalChar"] = dialect.decimal
    constraints: dict[str, object] = {"required": True} if is_required else {}
    if column.kind in _PATTERNS:
        constraints["pattern"] = _PATTERNS[column.kind]
    if constraints:
        found["constraints"] = constraints
    unit = unit_of(column)
    if unit is not None:
        found |= {"unit": unit.ucum, "unitUri": unit.qudt}
    return found
