"""The house itself: rooms that say their purpose, tests found by path, one meaning a name."""

import ast
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.places import ROOT

MIRRORED = ("daq", "drivers", "simulator")


def python_files(top: str) -> Iterator[Path]:
    return iter(sorted((ROOT / top).rglob("*.py")))


def folders(top: str) -> list[Path]:
    return sorted({file.parent for file in python_files(top)})


def test_few_files_lie_beside_the_folders_of_daq() -> None:
    assert len([path for path in (ROOT / "daq").iterdir() if path.is_file()]) <= 6


@pytest.mark.parametrize("top", MIRRORED)
def test_every_folder_says_its_purpose(top: str) -> None:
    for folder in folders(top):
        init = folder / "__init__.py"
        assert init.exists(), folder
        assert ast.get_docstring(ast.parse(init.read_text(encoding="utf-8"))), init


@pytest.mark.parametrize("top", MIRRORED)
def test_the_test_of_a_file_is_found_by_its_path(top: str) -> None:
    """tests/X/test_NAME.py or test_NAME_ASPECT.py is about X/NAME.py."""
    for test in (ROOT / "tests" / top).rglob("test_*.py"):
        room = ROOT / test.parent.relative_to(ROOT / "tests")
        subject = test.stem.removeprefix("test_")
        names = [file.stem for file in room.glob("*.py")]
        assert any(subject == name or subject.startswith(f"{name}_") for name in names), test


def test_no_class_name_of_product_means_two_things() -> None:
    found = defaultdict(list)
    for top in ("daq", "drivers"):
        for file in python_files(top):
            for node in ast.parse(file.read_text(encoding="utf-8")).body:
                if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                    found[node.name].append(str(file.relative_to(ROOT)))
    assert {name: files for name, files in found.items() if len(files) > 1} == {}
