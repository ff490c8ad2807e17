"""What a fresh clone lacks: the tests as the test runner compiles them, its assertions rewritten.

Rewriting takes as long as a tenth of the whole run. All workers begin at the same moment, and each
would do it for itself; so two processes do it once, before the workers start.

This is also what makes a collection that only reads the files: `-p tests.first_run`.
"""

import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
LARGEST = "daq"
"""The folder with more than half of them."""


def is_first(here: Path = HERE) -> bool:
    """Nothing of the tests in this folder was compiled yet, and what is compiled is kept."""
    return not sys.dont_write_bytecode and not any(here.glob("**/__pycache__/test_*-pytest-*.pyc"))


def compile_once() -> None:
    """Read the tests, the larger half beside the other; none is made or run. What cannot be read is
    told by the run itself.
    """
    others = sorted(path.name for path in HERE.iterdir() if any(path.rglob("test_*.py")))
    plain = ["-q", "-n", "0", "--collect-only", "-p", "tests.first_run"]
    command = [sys.executable, "-m", "pytest", *plain]
    begun = [
        subprocess.Popen(
            [*command, *(str(HERE / name) for name in names)],
            cwd=HERE.parent,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        for names in ([LARGEST], [name for name in others if name != LARGEST])
    ]
    for each in begun:
        each.wait()


def pytest_pycollect_makeitem() -> list[object]:
    """No test is made of what a file holds."""
    return []
