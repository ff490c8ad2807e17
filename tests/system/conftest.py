"""The real program in a process of its own, against bytes typed by hand on a real pty."""

import json
import os
import queue
import signal
import subprocess
import sys
import threading
import tty
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.places import ROOT

IS_GUEST = os.environ.get("JBRIDGE_GUEST") == "1"
PATIENCE_S = 60.0 if IS_GUEST else 20.0  # an emulated processor is slow

collect_ignore = [] if IS_GUEST else ["kernel"]
"""Those tests need devices that only the virtual machine has: .ci/system runs them."""

PLAN = """schema = 1
part = "test crank"

[check]
stack = "59.97 mm"
readings = 2
max_age_min = 240

[defaults]
stations = ["front", "rear"]
angles_deg = [0, 90]

[[journal]]
name = "M1"
group = "mains"
low = "59.970 mm"
high = "59.990 mm"
"""

PROFILE = """schema = 1
id = "bench-gauge"
kind = "text"

[frame]
end = "\\r\\n"
idle_ms = 60

[[layout]]
name = "number"
form = "fixed"
sign = "optional"
[[layout]]
sp = 1
[[layout]]
name = "unit"
map = { mm = "mm", in = "in" }
"""


class PtyGauge:
    """The gauge's end of a pty: what is sent here arrives at the program's port."""

    def __init__(self) -> None:
        self._master, self._slave = os.openpty()
        tty.setraw(self._slave)
        self.port = os.ttyname(self._slave)

    def send(self, text: str) -> None:
        """One frame: text and CR LF."""
        self.raw(text.encode() + b"\r\n")

    def raw(self, data: bytes) -> None:
        """Just these bytes."""
        os.write(self._master, data)

    def unplug(self) -> None:
        """Pull the cable: the other end sees a hang-up."""
        for fd in (self._slave, self._master):
            if fd >= 0:
                os.close(fd)
        self._master = self._slave = -1


class Program:
    """One running `jbridge … --json`, its JSON Lines taken one by one."""

    def __init__(
        self,
        *args: str,
        home: Path,
        has_keyboard: bool = True,
        module: str = "daq",
        **options: Any,
    ) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", module, *args, "--json", "--plain", "--home", str(home)],
            stdin=options.pop("stdin", subprocess.PIPE if has_keyboard else subprocess.DEVNULL),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            cwd=ROOT,
            text=True,
            **options,
        )
        self.events: list[dict[str, Any]] = []
        self.talk: list[str] = []
        self._lines: queue.Queue[dict[str, Any] | None] = queue.Queue()
        self._threads = [
            threading.Thread(target=target, daemon=True) for target in (self._read, self._hear)
        ]
        for thread in self._threads:
            thread.start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self._lines.put(json.loads(line))
        self._lines.put(None)

    def _hear(self) -> None:
        assert self.process.stderr is not None
        self.talk.extend(line.rstrip("\n") for line in self.process.stderr)

    def wait_for_next(self, wanted: str = "event") -> dict[str, Any]:
        """The next event, whatever it is."""
        try:
            event = self._lines.get(timeout=PATIENCE_S)
        except queue.Empty:
            raise AssertionError(f"no {wanted}; {self._story()}") from None
        if event is None:
            self._lines.put(None)
            raise AssertionError(f"ended without {wanted}; {self._story()}")
        self.events.append(event)
        return event

    def wait_for(self, kind: str, **fields: object) -> dict[str, Any]:
        """The next event of this kind with these fields; what lies before it is kept in events."""
        while True:
            event = self.wait_for_next(f"{kind} {fields}")
            if event.get("kind") == kind and all(event.get(k) == v for k, v in fields.items()):
                return event

    def _story(self) -> str:
        kinds = [event.get("kind", event) for event in self.events]
        return f"events {kinds}, stderr {self.talk[-5:]}"

    def type(self, line: str) -> None:
        """A line on the keyboard."""
        assert self.process.stdin is not None
        self.process.stdin.write(line + "\n")
        self.process.stdin.flush()

    def hang_up_keyboard(self) -> None:
        """End of file on stdin."""
        assert self.process.stdin is not None
        self.process.stdin.close()

    def end(self) -> int:
        """Wait for the end; all further events are taken. The exit code."""
        code = self.process.wait(PATIENCE_S)
        for thread in self._threads:
            thread.join(PATIENCE_S)
        while (event := self._lines.get(timeout=PATIENCE_S)) is not None:
            self.events.append(event)
        return code

    def interrupt(self, number: int = signal.SIGINT) -> None:
        """Send a signal."""
        self.process.send_signal(number)

    @property
    def kinds(self) -> list[str]:
        """The kinds of the events so far."""
        return [event["kind"] for event in self.events if "kind" in event]

    @property
    def result(self) -> dict[str, Any]:
        """The last line: verdict, reasons and folder."""
        return self.events[-1]


class Shop:
    """A folder with a home, a plan and a profile, and a gauge on a pty."""

    def __init__(self, folder: Path) -> None:
        self.home = folder / "home"
        self.plan = folder / "plan.toml"
        self.profile = folder / "bench-gauge.toml"
        self.plan.write_text(PLAN)
        self.profile.write_text(PROFILE)
        self.gauge = PtyGauge()
        self.session = folder / "session"
        self._running: list[Program] = []

    def run(self, *args: str, **options: Any) -> Program:
        """Start the program with any arguments."""
        program = Program(*args, home=self.home, **options)
        self._running.append(program)
        return program

    def measure(self, *more: str, gauge: PtyGauge | None = None, **options: Any) -> Program:
        """Start `measure` and wait until the port is open and the first stint waits."""
        program = self.run(
            "measure",
            str(self.plan),
            *("--port", (gauge or self.gauge).port, "--profile", str(self.profile)),
            *("--session", str(self.session), *more),
            **options,
        )
        program.wait_for("stint")
        return program

    def resume(self, *more: str, **options: Any) -> Program:
        """Start `resume` and wait until it stands."""
        program = self.run("resume", str(self.session), *more, **options)
        program.wait_for("resumed")
        return program

    def check(self, program: Program, *values: str, passed: bool = True) -> dict[str, Any]:
        """Press send on the stack, once for each value, and wait for the judgement."""
        for value in values or ("59.970 mm", "59.970 mm"):
            self.gauge.send(value)
            program.wait_for("check_reading")
        return program.wait_for("check_judged", passed=passed)

    def press(self, program: Program, *values: str) -> None:
        """Press send on the part, once for each value, and wait for each reading."""
        for value in values:
            self.gauge.send(value)
            program.wait_for("reading")

    def clean_up(self) -> None:
        """End whatever still runs."""
        for program in self._running:
            if program.process.poll() is None:
                program.process.kill()
            program.process.wait()
            for stream in (program.process.stdin, program.process.stdout, program.process.stderr):
                if stream is not None:
                    stream.close()
        self.gauge.unplug()


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """A shop of its own."""
    shop = Shop(tmp_path)
    yield shop
    shop.clean_up()


Call = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture
def call(tmp_path: Path) -> Call:
    """Run a short command to its end."""

    def run(*args: str, **options: Any) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "daq", *args],
            cwd=ROOT,
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
            stdin=subprocess.DEVNULL,
            env={**os.environ, "JBRIDGE_HOME": str(tmp_path / "home")},
            **options,
        )

    return run
