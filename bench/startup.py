"""Start-up: `--version` and `--help` against an empty Python and the least click program.

Everything runs in a fresh virtual environment that finds the libraries by PYTHONPATH. An editable
install loads modules at every start of its interpreter, so that an empty Python seems slower there
and the program, in comparison, faster than it is.
"""

import os
import subprocess
import sysconfig
import venv
from collections.abc import Mapping
from pathlib import Path
from time import perf_counter_ns

from bench.ratio import Program, Row, interleaved, timed_row

ROOT = Path(__file__).resolve().parents[1]
OURS = "from daq.cli.app import main; main()"
"""What the installed command does."""


def fresh_python(folder: Path) -> Path:
    """The interpreter of a new environment in `folder`, without any start-up files."""
    venv.EnvBuilder(symlinks=True, with_pip=False).create(folder)
    return folder / "bin" / "python"


def _environment() -> Mapping[str, str]:
    # Both folders of libraries, as they differ on some systems.
    libraries = [sysconfig.get_path(name) for name in ("purelib", "platlib")]
    paths = dict.fromkeys([*libraries, str(ROOT)])
    kept = {key: os.environ[key] for key in ("PATH", "HOME", "LANG") if key in os.environ}
    return {**kept, "PYTHONPATH": os.pathsep.join(paths)}


def measure(folder: Path, rounds: int) -> list[Row]:
    """Wall time of whole processes, over `rounds`; the environment is made in `folder`."""
    python = str(fresh_python(folder / "fresh"))
    environment = _environment()
    click_program = str(Path(__file__).with_name("two_commands.py"))

    def run(*arguments: str) -> float:
        start = perf_counter_ns()
        subprocess.run(
            [python, *arguments],
            env=environment,
            cwd=folder,
            stdout=subprocess.DEVNULL,
            check=True,
        )
        return (perf_counter_ns() - start) / 1e6

    programs: dict[str, Program] = {
        "pass": lambda: run("-c", "pass"),
        "ours --version": lambda: run("-c", OURS, "--version"),
        "ours --help": lambda: run("-c", OURS, "--help"),
        "click --version": lambda: run(click_program, "--version"),
        "click --help": lambda: run(click_program, "--help"),
    }
    for program in programs.values():
        program()  # so that no round compiles or reads the disk
    times = interleaved(programs, rounds)
    rows = []
    for option in ("--version", "--help"):
        ours = times[f"ours {option}"]
        rows += [
            timed_row(f"`{option}` / `python -c pass`", 5, ours, times["pass"], "ms"),
            timed_row(
                f"`{option}` / a two-command click program",
                1.3,
                ours,
                times[f"click {option}"],
                "ms",
            ),
        ]
    return rows
