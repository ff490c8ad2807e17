"""The tool that finds sums which only tests call: on this tree, and on small made-up ones."""

import subprocess
import sys
from pathlib import Path

from tests.places import ROOT

TOOL = ROOT / ".ci" / "unused_sums.py"


def run(root: Path) -> tuple[int, list[str]]:
    """How it ends, and what it prints."""
    done = subprocess.run(
        [sys.executable, str(TOOL), str(root)], capture_output=True, text=True, check=False
    )
    assert done.stderr == ""
    return done.returncode, done.stdout.splitlines()


def tree(root: Path, **files: str) -> Path:
    """A program of modules by dotted name, `_` for a dot: `daq_metrology_mean`."""
    for name, text in files.items():
        file = root / f"{name.replace('_', '/')}.py"
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8")
    return root


def named(lines: list[str]) -> list[str]:
    return [line.removesuffix(" is not used by the product").split(": ")[1] for line in lines]


USER = "from daq.metrology.mean import mean\nprint(mean([1]))\n"
MEAN = "def mean(values):\n    return _sum(values) / len(values)\ndef _sum(values): ...\n"


def test_the_product_uses_all_its_sums() -> None:
    code, (line,) = run(ROOT)
    assert code == 0
    assert line.endswith("functions, classes and methods of daq.metrology, all used by the product")


def test_what_is_reached_through_others_is_used(tmp_path: Path) -> None:
    code, lines = run(tree(tmp_path, daq_page=USER, daq_metrology_mean=MEAN))
    assert (code, lines[0][:2]) == (0, "2 ")


def test_a_dead_function_is_found_with_what_only_it_calls(tmp_path: Path) -> None:
    dead = "__all__ = ['dead']\ndef dead():\n    return _deeper()\ndef _deeper(): ...\n"
    tests = "from daq.metrology.mean import dead\ndead()\n"
    code, lines = run(
        tree(tmp_path, daq_page=USER, daq_metrology_mean=MEAN + dead, tests_test=tests)
    )
    assert code == 1
    assert named(lines) == ["dead", "_deeper"]


def test_sums_that_only_call_each_other_are_dead(tmp_path: Path) -> None:
    ring = (
        "from daq.metrology.mean import mean\ndef one(): other()\ndef other(): one(), mean([1])\n"
    )
    code, lines = run(tree(tmp_path, daq_page=USER, daq_metrology_mean=MEAN, daq_metrology_r=ring))
    assert code == 1
    assert named(lines) == ["one", "other"]


def test_a_method_that_nobody_asks_for_is_dead_and_a_property_in_use_is_not(tmp_path: Path) -> None:
    fit = (
        "class Fit:\n    def __str__(self): ...\n    @property\n    def slope(self): ...\n"
        "    def unasked(self): ...\nclass Never:\n    def slope(self): ...\n"
    )
    page = "from daq.metrology import fit as lines\nprint(lines.Fit().slope)\n"
    code, lines = run(tree(tmp_path, daq_page=page, daq_metrology_fit=fit))
    assert code == 1
    assert named(lines) == ["Never", "Fit.unasked", "Never.slope"]


def test_another_thing_of_the_same_name_is_no_use(tmp_path: Path) -> None:
    # an argument, a local variable and a function of another module
    page = USER + "def shadow(sd):\n    return sd\ndef sd(): ...\nsd()\n"
    sums = MEAN + "def sd(values): ...\n"
    code, lines = run(tree(tmp_path, daq_page=page, daq_metrology_mean=sums))
    assert code == 1
    assert named(lines) == ["sd"]


def test_a_name_that_is_only_imported_on_is_no_use(tmp_path: Path) -> None:
    passed_on = "from daq.metrology.mean import mean, dead\n"
    code, lines = run(
        tree(
            tmp_path,
            daq_page=USER.replace("metrology.mean", "metrology.on"),
            daq_metrology_on=passed_on,
            daq_metrology_mean=MEAN + "def dead(): ...\n",
        )
    )
    assert code == 1
    assert named(lines) == ["dead"]


def test_a_tree_without_sums_is_no_success(tmp_path: Path) -> None:
    code, lines = run(tree(tmp_path, daq_page="x = 1\n"))
    assert code == 1
    assert "no sums found" in lines[0]
