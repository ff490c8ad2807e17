"""The tables that lie beside a ledger, read instead of derived: where they are whole, and say
exactly what the ledger gives.
"""

import hashlib
import os
import re
from collections.abc import Mapping
from pathlib import Path

import msgspec

from daq.export.columns import columns_of
from daq.record.events import RULES
from daq.storage.chain import TAIL_BYTES, stated_digest
from daq.storage.ledger import LEDGER
from daq.storage.whole import DATAPACKAGE, MOST_METADATA_BYTES, noted
from drivers.plain_file import open_plain, plain_bytes

_GUARDED = re.compile(
    rb"""(?:^|[,;"\n])'(?:[=+\-@]|\xef\xbc[\x9d\x8b\x8d]|\xef\xbc\xa0)"""  # in any cell or list
    rb"""|\\x(?!3b)"""  # a control character; \x3b parts no list
)
"""A text that was guarded, or looks so: what was given cannot be told from the file alone."""


class _Resource(msgspec.Struct):
    name: str
    path: str
    bytes: int
    hash: str


class _Package(msgspec.Struct):
    id: str
    ledger_chain: str
    resources: tuple[_Resource, ...]


_PACKAGE = msgspec.json.Decoder(_Package)


def kept_cells(folder: Path) -> Mapping[str, bytes] | None:
    """What stands below the header in each table by its name, every text in it as it was given;
    None where the tables must be derived: one is missing, was changed, is of another ledger or of
    other columns than today's, or holds a text that had to be guarded. The ledger's last line is
    looked at, not proven.
    """
    try:
        package = _PACKAGE.decode(plain_bytes(folder / DATAPACKAGE, MOST_METADATA_BYTES))
        if noted(folder) != (package.id, package.ledger_chain):
            return None
        if not _ends_in(folder, package.ledger_chain):
            return None
        found = {}
        for resource in package.resources:
            cells = _cells(folder, resource)
            if cells is None:
                return None
            found[resource.name] = cells
    except (OSError, ValueError, RecursionError):  # msgspec's errors are ValueErrors
        return None
    return found


def _ends_in(folder: Path, chain: str) -> bool:
    """Whether the ledger's last line is whole by its looks and names this digest."""
    with open_plain(folder / LEDGER) as file:
        if file.seek(0, os.SEEK_END) <= TAIL_BYTES:
            return False
        file.seek(-TAIL_BYTES - 1, os.SEEK_END)
        tail = file.read()
    return tail.endswith(b"\n") and stated_digest(tail[:-1]) == chain


def _cells(folder: Path, resource: _Resource) -> bytes | None:
    columns = columns_of(RULES).get(resource.name)
    if columns is None or resource.path != f"{resource.name}.csv":
        return None
    data = plain_bytes(folder / resource.path, resource.bytes)
    if f"sha256:{hashlib.sha256(data).hexdigest()}" != resource.hash:
        return None
    if (b"'" in data or b"\\x" in data) and _GUARDED.search(data):
        return None
    head, _, cells = data.partition(b"\r\n")
    return cells if head == ",".join(column.name for column in columns).encode() else None
