"""A session's tables poured into somebody's template (Jinja), for the one importer that wants a
form of its own. The template runs in a process of its own, within bounds.
"""

import json
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import msgspec

from daq.errors import UsageError
from daq.export.jsonl import objects
from daq.export.tables import Table
from daq.export.template_child import FAULTY
from drivers.plain_file import plain_bytes

OPTION = "--template"

MOST_TEMPLATE_BYTES = 256 * 1024
MOST_BYTES = 16 * 1024 * 1024
"""Of the text that comes out."""
MOST_S = 10
MEMORY_BYTES = 1024 * 1024 * 1024
"""Bounds chosen by us, far beyond what any form of a session needs."""

CHILD = Path(__file__).with_name("template_child.py")


class _Fault(msgspec.Struct):
    line: int
    why: str


def read_template(path: Path) -> str:
    """A template's text; raises UsageError."""
    try:
        return plain_bytes(path, MOST_TEMPLATE_BYTES).decode("utf-8")
    except UnicodeDecodeError as error:
        raise UsageError(f"{path} is not UTF-8 text: save it as that", OPTION) from error
    except OSError as error:
        raise UsageError(f"{path} cannot be read: {error.strerror}", OPTION) from error


def filled(template: str, tables: Sequence[Table], seconds: float = MOST_S) -> bytes:
    """The text that a template makes of tables: each is a list of rows by its name, a row has its
    cells by the names of the columns; `session` is the one row of sessions.

    Raises UsageError where it cannot: what is wrong in which line, or which bound it met.
    """
    rows = {table.name: objects(table) for table in tables}
    document = {
        "template": template,
        "context": {**rows, "session": rows["sessions"][0]},
        "seconds": seconds,
        "memory_bytes": MEMORY_BYTES,
        "most_bytes": MOST_BYTES,
    }
    try:
        child = subprocess.run(
            [sys.executable, "-I", str(CHILD)],
            input=json.dumps(document).encode(),
            capture_output=True,
            timeout=2 * seconds,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise _too_long(seconds) from None
    if child.returncode < 0:  # the system ended it
        raise _too_long(seconds)
    if child.returncode == FAULTY:
        raise _faulty(child.stderr)
    if child.returncode:
        raise UsageError("the template cannot be filled: it ended the process it ran in", OPTION)
    return child.stdout


def _too_long(seconds: float) -> UsageError:
    return UsageError(
        f"the template takes more than {seconds:g} s, or more memory than it may have: does it "
        "loop without end?",
        OPTION,
    )


def _faulty(said: bytes) -> UsageError:
    try:
        found = msgspec.json.decode(said, type=_Fault)
    except msgspec.DecodeError:
        found = _Fault(0, "no reason was told")
    where = f"line {found.line}: " if found.line else ""
    return UsageError(f"the template cannot be filled: {where}{found.why}", OPTION)
