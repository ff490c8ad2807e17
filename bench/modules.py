"""Which modules a command loads: the slow ones must stay off the ways that do not need them."""

import os
import subprocess
import sys
import tty
from collections.abc import Sequence
from pathlib import Path

from bench.ratio import Row
from bench.startup import ROOT

SLOW = ("pandas", "numpy", "rich", "asyncio", "importlib.metadata")
SLOW_IN_A_RUN = ("pandas", "rich", "asyncio")
PATIENCE_S = 30.0

_RUN = (
    "import sys\n"
    "from pathlib import Path\n"
    "from daq.cli.app import run\n"
    "try:\n"
    "    code = run(sys.argv[2:])\n"
    "except SystemExit as end:\n"
    "    code = end.code or 0\n"
    "Path(sys.argv[1]).write_text('\\n'.join(sorted(sys.modules)))\n"
    "sys.exit(code)\n"
)

_PLAN = """schema = 1
part = "bench"
[check]
stack = "59.970 mm"
readings = 2
least_interval = "0 s"
[defaults]
least_interval = "0 s"
stations = ["front"]
angles_deg = [0, 90]
[[journal]]
name = "M1"
low = "59.970 mm"
high = "59.990 mm"
"""

_PRESSES = ("59.970", "59.971", "59.980", "59.981", "59.970", "59.971")
"""Check, two positions, check; no two alike in a row, so that none counts as a held button."""


def _command(python: str, report: Path, arguments: Sequence[str]) -> list[str]:
    return [python, "-c", _RUN, str(report), *arguments]


def loaded(folder: Path, arguments: Sequence[str]) -> set[str]:
    """All modules that one call of the program has loaded at its end.

    The list is written into `folder`. Raises CalledProcessError if the call does not end in 0.
    """
    report = folder / "modules.txt"
    subprocess.run(
        _command(sys.executable, report, arguments),
        cwd=ROOT,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        check=True,
        timeout=PATIENCE_S,
    )
    return set(report.read_text(encoding="utf-8").split("\n"))


def measured_session(folder: Path) -> tuple[Path, set[str]]:
    """A whole `measure --plain` on a pty: the accepted session in `folder`, and modules loaded.

    Raises RuntimeError, with what the program said, if it does not end in 0.
    """
    plan, session, report = folder / "plan.toml", folder / "session", folder / "modules.txt"
    plan.write_text(_PLAN, encoding="utf-8")
    master, slave = os.openpty()
    try:
        tty.setraw(slave)
        words = ["measure", str(plan), "--port", os.ttyname(slave)]
        words += ["--profile", "number-unit-crlf", "--session", str(session)]
        words += ["--home", str(folder / "home"), "--plain"]
        with subprocess.Popen(
            _command(sys.executable, report, words),
            cwd=ROOT,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        ) as process:
            assert process.stdout is not None
            said = []
            for line in process.stdout:
                said.append(line)
                if line.startswith("> "):  # the port is open and the first reading asked for
                    break
            for press in _PRESSES:
                os.write(master, f"+{press} mm\r\n".encode())
            rest, _ = process.communicate(timeout=PATIENCE_S)
        if process.returncode:
            raise RuntimeError(f"measure ended in {process.returncode}: {''.join(said)}{rest}")
    finally:
        os.close(slave)
        os.close(master)
    return session, set(report.read_text(encoding="utf-8").split("\n"))


def slow_ones(modules: set[str], banned: Sequence[str]) -> list[str]:
    """Those of `banned` that were loaded, in the order given."""
    return [name for name in banned if name in modules]


def measure(folder: Path) -> list[Row]:
    """One row a command: how many slow modules it loads; files go into `folder`."""
    session, of_a_run = measured_session(folder)
    found = {
        arguments[0] if len(arguments) == 1 else " ".join(arguments): loaded(folder, arguments)
        for arguments in (["--help"], ["--version"], ["measure", "--help"])
    }
    found["verify"] = loaded(folder, ["verify", str(session)])
    found["export"] = loaded(folder, ["export", str(session)])
    rows = [_row(name, modules, SLOW) for name, modules in found.items()]
    return [*rows, _row("measure --plain", of_a_run, SLOW_IN_A_RUN)]


def _row(name: str, modules: set[str], banned: Sequence[str]) -> Row:
    slow = slow_ones(modules, banned)
    return Row(
        goal=f"`{name}` loads no {', '.join(banned)}",
        limit="none",
        ours=", ".join(slow) or f"none ({len(modules)} modules)",
        value=len(slow),
        bound=0,
    )
