"""The system suite in a virtual machine: prepare, boot once, run tests/system/kernel, report."""

import argparse
import compileall
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as ET
from pathlib import Path
from types import FrameType

from tests.system.machine import environment, report
from tests.system.machine.qemu import Machine, TimedOut
from tests.system.machine.tree import System
from tests.system.machine.unavailable import Unavailable

_TESTS = "tests/system/kernel"
_ALONGSIDE = "tests/system/kernel/test_ser2net.py"
"""Plugs nothing in, so it runs beside the others on the guest's second processor."""

_LIMIT_S = 900.0
_PYTEST = (
    "-p pytest_timeout -p xdist.plugin -n 0 -p no:cacheprovider"
    " -o timeout=180 -o faulthandler_timeout=150"
)
_ENVIRONMENT = {"JBRIDGE_GUEST": "1", "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
_EMULATOR = "qemu-system-x86"


def main() -> int:
    """0 all passed (or skipped with a reason), 1 anything else."""
    parser = argparse.ArgumentParser(prog=".ci/system", description=__doc__)
    parser.add_argument("--junit", type=Path, help="where the JUnit file goes")
    parser.add_argument("--console", action="store_true", help="show the console in any case")
    parser.add_argument("tests", nargs="*", help="these files only; options go to pytest")
    options, more = parser.parse_known_args()
    signal.signal(signal.SIGTERM, _end)
    signal.signal(signal.SIGHUP, _end)
    started = time.monotonic()
    cache = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    system = System(cache / "journalbridge-system")
    try:
        environment.architecture()
        _need_emulator()
        system.prepare()
    except Unavailable as reason:
        return _without(reason)
    runs = _runs(options.tests, more)
    _compile(f"{_PYTEST} {_TESTS}")
    print(f"machine: prepared after {time.monotonic() - started:.1f} s", flush=True)
    with tempfile.TemporaryDirectory(prefix="jbridge-system-") as folder:
        machine = Machine(system, environment.shared_folders(), Path(folder))
        wrong = _boot(machine, runs)
        _tell(machine, options.junit, has_console=bool(wrong or options.console))
    print(f"machine: {wrong or 'passed'} after {time.monotonic() - started:.1f} s")
    return 1 if wrong else 0


def _without(reason: Unavailable) -> int:
    if os.environ.get("JBRIDGE_SYSTEM") == "require":
        print(f"The system suite cannot run: {reason}", file=sys.stderr)
        return 1
    print(f"The system suite is skipped: {reason}")
    return 0


def _runs(tests: list[str], more: list[str]) -> dict[str, str]:
    """What pytest is told, by the name of the run. The first one's output is shown as it comes."""
    if tests:
        return {"tests": " ".join([_PYTEST, *tests, *more])}
    words = " ".join([_PYTEST, "--durations=8", *more])
    return {
        "tests": f"{words} {_TESTS} --ignore={_ALONGSIDE}",
        "alongside": f"{words} {_ALONGSIDE}",
    }


def _boot(machine: Machine, runs: dict[str, str]) -> str:
    """Run the tests; why they did not pass, "" if they did."""
    settings = {name.upper(): words for name, words in runs.items()}
    settings |= {"ROOT": str(environment.ROOT), "PYTHON": sys.executable}
    try:
        machine.run({"ALONGSIDE": ""} | settings, _LIMIT_S)
    except TimedOut:
        return f"no end within {_LIMIT_S:g} s, so it was killed"
    return report.shortcoming(machine.results, tuple(runs))


def _tell(machine: Machine, junit: Path | None, has_console: bool) -> None:
    sys.stdout.flush()
    texts = [machine.results / "alongside.txt"] + [machine.console] * has_console
    for text in texts:
        if text.exists():
            sys.stdout.buffer.write(text.read_bytes()[-50_000:])
            sys.stdout.buffer.flush()
    suites = report.merged(machine.results)
    print(f"machine: {report.counted(suites)}")
    if junit is not None:
        ET.ElementTree(suites).write(junit, encoding="utf-8", xml_declaration=True)


def _need_emulator() -> None:
    if shutil.which("qemu-system-x86_64"):
        return
    if not shutil.which("apt-get"):
        raise Unavailable(f"{_EMULATOR} is not installed, and there is no apt-get")
    if os.geteuid() != 0:
        raise Unavailable(f"{_EMULATOR} is not installed, and only root may install it")
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    install = ["apt-get", "install", "-y", "-qq", "--no-install-recommends", _EMULATOR]
    for words in (install, ["apt-get", "update", "-qq"], install):
        done = subprocess.run(words, env=quiet, capture_output=True, text=True, check=False)
        if words is install and done.returncode == 0:
            return
    raise Unavailable(f"{_EMULATOR} cannot be installed: {' '.join(done.stderr.split())[-300:]}")


def _compile(words: str) -> None:
    """Compile here what the guest imports: it sees the checkout read-only, and is slow.

    Collecting the tests does that for theirs; what is wrong with them shows next, in the guest.
    """
    for name in ("daq", "drivers", "simulator"):
        compileall.compile_dir(environment.ROOT / name, quiet=2)
    subprocess.run(
        [sys.executable, "-m", "pytest", "--collect-only", *words.split()],
        cwd=environment.ROOT,
        env={**os.environ, **_ENVIRONMENT},
        capture_output=True,
        check=False,
    )


def _end(number: int, frame: FrameType | None) -> None:
    sys.exit(128 + number)


if __name__ == "__main__":
    sys.exit(main())
