"""The simulator stands alone: it shares no code with the programs that read its bytes."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.places import ROOT

MODULES = sorted((ROOT / "simulator").rglob("*.py"))
PLAYED_TO_PYUSB = {"usb_backend.py", "usb_errors.py"}
"""What pyusb asks for and what it raises; nothing else is taken from it."""
FOREIGN = re.compile(r"\b(daq|drivers)\b", re.IGNORECASE)


def foreign_names(source: str) -> list[str]:
    """Everything in the source that imports or names another package of the project."""
    said: list[str] = []
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.Import(names=names):
                said += [alias.name for alias in names]
            case ast.ImportFrom(module=module, names=names):
                said += [module or "", *(alias.name for alias in names)]
            case ast.Name(id=name) | ast.Attribute(attr=name):
                said.append(name)
            case ast.Constant(value=str(text)):
                said.append(text)
    return [text for text in said if FOREIGN.search(text)]


def imported_roots(source: str) -> set[str]:
    """Top-level packages the source imports; a relative import counts as ``.``."""
    roots: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            roots |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            roots.add("." if node.level else (node.module or "").partition(".")[0])
    return roots


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.name)
def test_no_module_names_the_reading_side(path: Path) -> None:
    assert foreign_names(path.read_text("utf-8")) == []


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.name)
def test_modules_import_the_standard_library_only(path: Path) -> None:
    allowed = {"simulator", *sys.stdlib_module_names}
    if path.name in PLAYED_TO_PYUSB:
        allowed |= {"usb"}
    assert imported_roots(path.read_text("utf-8")) <= allowed


@pytest.mark.parametrize(
    "source",
    [
        "import daq",
        "import drivers.ports as p",
        "from daq.record import x",
        "from .. import drivers",
        "x = daq",
        "x = package.drivers",
        "importlib.import_module('daq.cli')",
        "__import__('drivers')",
        "def f():\n    import daq.export",
    ],
)
def test_the_scan_finds_what_it_looks_for(source: str) -> None:
    assert foreign_names(source)


def test_the_scan_saw_the_whole_package() -> None:
    assert {"links.py", "formats.py", "scenario.py"} <= {path.name for path in MODULES}


def test_loading_everything_loads_none_of_the_reading_side() -> None:
    names = [f"simulator.{path.stem}" for path in MODULES if path.stem != "__init__"]
    program = (
        f"import sys, {', '.join(names)}\n"
        "print([m for m in sys.modules if m.partition('.')[0] in ('daq', 'drivers')])"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"
