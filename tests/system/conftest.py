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
from tests.system.launcher import JBRIDGE, Launcher, Process

IS_GUEST = os.environ.get("JBRIDGE_GUEST") == "1"
PATIENCE_S = 60.0 if IS_GUEST else 20.0  # an emulated processor is slow

collect_ignore = [
    *([] if IS_GUEST else ["kernel"]),
    *([] if os.environ.get("JBRIDGE_BROWSER") else ["browser"]),
]
"""Those tests need what others do not: devices that only the virtual machine of .ci/system has, and
the browser that .ci/browser finds."""

PLAN = """schema = 1
part = "test crank"

[check]
stack = "59.97 mm"
readings = 2
max_age_min = 240
least_interval = "0 s"

[defaults]
least_interval = "0 s"
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


@pytest.fixture(scope="session")
def launcher() -> Iterator[Launcher]:
    """What starts processes of the program."""
    launcher = Launcher()
    yield launcher
    launcher.close()


class Program:
    """One running `jbridge … --json`, its JSON Lines taken one by one."""

    def __init__(
        self,
        *args: str,
        launcher: Launcher,
        home: Path,
        has_keyboard: bool = True,
        stdin: int | None = None,
        module: str | None = None,
        **options: Any,
    ) -> None:
        """A `module` runs in an interpreter that has loaded nothing yet."""
        self.events: list[dict[str, Any]] = []
        self.talk: list[str] = []
        self._is_silent = False
        self._talked = threading.Condition()
        self._lines: queue.Queue[dict[str, Any] | None] = queue.Queue()
        (out, stdout), (err, stderr) = os.pipe(), os.pipe()
        keys, typed = os.pipe() if has_keyboard else (os.open(os.devnull, os.O_RDONLY), -1)
        words = (*args, "--json", "--plain", "--home", str(home))
        streams = (keys if stdin is None else stdin, stdout, stderr)
        self.process: Process | subprocess.Popen[bytes]
        if module is None:
            self.process = launcher.start(JBRIDGE, *words, streams=streams, **options)
        else:
            self.process = subprocess.Popen(
                [sys.executable, "-m", module, *words],
                stdin=streams[0],
                stdout=streams[1],
                stderr=streams[2],
                cwd=ROOT,
                **options,
            )
        for end in (keys, stdout, stderr):
            os.close(end)
        self._keyboard = os.fdopen(typed, "w") if has_keyboard else None
        self._stdout, self._stderr = os.fdopen(out), os.fdopen(err)
        self._threads = [
            threading.Thread(target=target, daemon=True) for target in (self._read, self._hear)
        ]
        for thread in self._threads:
            thread.start()

    def _read(self) -> None:
        for line in self._stdout:
            self._lines.put(json.loads(line))
        self._lines.put(None)

    def _hear(self) -> None:
        for line in self._stderr:
            with self._talked:
                self.talk.append(line.rstrip("\n"))
                self._talked.notify_all()
        with self._talked:
            self._is_silent = True
            self._talked.notify_all()

    def wait_for_talk(self, words: str = "", since: int = 0) -> str:
        """The first line of talk that holds these words, of those from number `since` on."""

        def said() -> str | None:
            return next((line for line in self.talk[since:] if words in line), None)

        with self._talked:
            self._talked.wait_for(lambda: said() is not None or self._is_silent, PATIENCE_S)
            line = said()
        assert line is not None, f"never said {words!r}; {self._story()}"
        return line

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
        assert self._keyboard is not None
        self._keyboard.write(line + "\n")
        self._keyboard.flush()

    def hang_up_keyboard(self) -> None:
        """End of file on stdin."""
        assert self._keyboard is not None
        self._keyboard.close()

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

    def clean_up(self) -> None:
        """End it if it still runs."""
        self.process.kill()
        self.process.wait()
        for thread in self._threads:
            thread.join(PATIENCE_S)
        for stream in (self._keyboard, self._stdout, self._stderr):
            if stream is not None:
                stream.close()

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

    def __init__(self, folder: Path, launcher: Launcher) -> None:
        self._launcher = launcher
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
        program = Program(*args, launcher=self._launcher, home=self.home, **options)
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
            program.clean_up()
        self.gauge.unplug()


@pytest.fixture
def shop(tmp_path: Path, launcher: Launcher) -> Iterator[Shop]:
    """A shop of its own."""
    shop = Shop(tmp_path, launcher)
    yield shop
    shop.clean_up()


Call = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture
def call(tmp_path: Path, launcher: Launcher) -> Call:
    """Run a short command to its end."""

    def run(*args: str) -> subprocess.CompletedProcess[str]:
        said = tmp_path / "stdout", tmp_path / "stderr"
        outs = [os.open(file, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600) for file in said]
        streams = (os.open(os.devnull, os.O_RDONLY), outs[0], outs[1])
        home = {"JBRIDGE_HOME": str(tmp_path / "home")}
        process = launcher.start(JBRIDGE, *args, streams=streams, env=home)
        for stream in streams:
            os.close(stream)
        try:
            code = process.wait(60)
        except subprocess.TimeoutExpired:
            process.kill()
            raise
        return subprocess.CompletedProcess(args, code, *(file.read_text() for file in said))

    return run
