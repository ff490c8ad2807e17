"""Whatever a ledger with a right chain says, no cell of its tables is a formula."""

import copy
import csv
import io
import json
import re
from collections.abc import Iterator
from itertools import cycle
from pathlib import Path
from typing import Any

import pytest

from daq.errors import DaqError
from daq.export.csv_files import csv_bytes
from daq.export.tables import tables
from daq.storage.ledger import scan_bytes
from daq.storage.replay import replay
from tests.builders import bodies_of, resealed
from tests.places import ROOT

GOLDEN = ROOT / "tests" / "golden"
STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
HARMLESS = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?|[+-][0-9]{2}:[0-9]{2}")  # a number, a UTC offset


def texts_in(node: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The way to each text and each empty place of a record."""
    inner = node.items() if isinstance(node, dict) else enumerate(node)
    for key, value in inner:
        if isinstance(value, dict | list):
            yield from texts_in(value, (*path, key))
        elif value is None or isinstance(value, str):
            yield (*path, key)


def forged(record: dict[str, Any], path: tuple[Any, ...], text: str) -> bytes:
    made = copy.deepcopy(record)
    node: Any = made
    for key in path[:-1]:
        node = node[key]
    node[path[-1]] = text
    return json.dumps(made, ensure_ascii=False, separators=(",", ":")).encode()[:-1]


def cells(ledger: bytes) -> Iterator[str]:
    folder = Path("forged")
    found = scan_bytes(ledger, folder)
    for table in tables(replay(found, folder), found.entries, found.chain):
        lists = {
            number for number, column in enumerate(table.columns) if "joined by ;" in column.meaning
        }
        text = csv_bytes(table).decode("utf-8")
        for row in csv.reader(io.StringIO(text, newline="")):
            for number, cell in enumerate(row):
                yield cell
                if number in lists:
                    yield from cell.split(";")


@pytest.mark.parametrize("version", ["v0.1.0", "v0.2.0", "v0.4.0"])  # a rule set each
def test_no_forged_text_starts_a_formula_in_any_cell(version: str) -> None:
    bodies = bodies_of((GOLDEN / version / "ledger.jsonl").read_bytes())
    starts, seen, shown = cycle(STARTS), set(), 0
    for line, body in enumerate(bodies):
        record = json.loads(body + b"}")
        for path in texts_in(record):
            field = (record["kind"], *(key for key in path if isinstance(key, str)))
            if field in seen or path[-1] in ("kind", "at"):
                continue
            seen.add(field)
            text = next(starts) + "1+1"
            ledger = resealed([*bodies[:line], forged(record, path, text), *bodies[line + 1 :]])
            try:
                found = [*cells(ledger)]
            except DaqError:
                continue  # refused in words
            shown += any(text[1:] in cell for cell in found)
            for cell in found:
                assert not cell.startswith(STARTS) or HARMLESS.fullmatch(cell), (field, cell)
    assert shown > 20  # so many came as far as a table, so the tables were looked at
