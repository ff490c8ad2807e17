"""What the page is measured with: a gauge and a terminal on pseudo-terminals, the marked program
between them, and a page in Chromium that tells when it changed.
"""

import fcntl
import os
import signal
import struct
import subprocess
import sys
import termios
import threading
import time
import tty
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from functools import partial
from pathlib import Path
from time import time_ns
from typing import Any

from playwright.sync_api import Browser, Page

from bench.startup import ROOT

CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)
PATIENCE_S = 20.0
STACK = ("59.970", "59.971")

PLAN = """schema = 1
part = "bench"
[check]
stack = "59.970 mm"
readings = 2
max_age_min = 10000
least_interval = "0 s"
[defaults]
stations = ["front", "rear"]
angles_deg = [0, 45, 90, 135]
repeats = {repeats}
least_interval = "0 s"
"""
_JOURNAL = """[[journal]]
name = "M{number}"
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

_WATCH = """
window.changed = [];
const now = () => performance.timeOrigin + performance.now();
const Source = window.EventSource;
window.EventSource = class extends Source {
  constructor(...given) {
    super(...given);
    super.addEventListener("message", () => { window.came = now(); });
  }
};
addEventListener("DOMContentLoaded", () => {
  new MutationObserver(() => {
    const mark = [document.getElementById("value").innerText, window.came, now()];
    requestAnimationFrame(() => {
      const channel = new MessageChannel();
      channel.port1.onmessage = () => window.changed.push([...mark, now()]);
      channel.port2.postMessage(0);
    });
  }).observe(document.getElementById("value"), { childList: true, subtree: true });
});
"""
"""When an event came, when the value had changed, and when that was painted: the frame that shows
it is made right after what is asked of an animation frame. Source: The WHATWG HTML Standard,
8.1.7.3.
"""


class Gauge:
    """The gauge's end of a pty; bytes written there are a press."""

    def __init__(self) -> None:
        self._master, self._slave = os.openpty()
        tty.setraw(self._slave)
        self.port = os.ttyname(self._slave)

    def press(self, size: str) -> int:
        """Send a size in mm; when that was, in ns."""
        at_ns = time_ns()
        os.write(self._master, f"{size} mm\r\n".encode())
        return at_ns

    def close(self) -> None:
        """Unplug it."""
        os.close(self._slave)
        os.close(self._master)


class Terminal:
    """A terminal of 120 by 40 that keeps when it was written what."""

    def __init__(self) -> None:
        self._master, self.slave = os.openpty()
        fcntl.ioctl(self.slave, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))
        self._written: list[tuple[int, bytes]] = []
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        with suppress(OSError):  # so it is told that the other end is closed
            while data := os.read(self._master, 65536):
                self._written.append((time_ns(), data))

    def shown_ns(self, text: str, since_ns: int) -> int | None:
        """When this was written first, of all since then; None while it was not."""
        seen = b""
        for at_ns, data in list(self._written):
            if at_ns >= since_ns:
                seen += data
                if text.encode() in seen:
                    return at_ns
        return None


class Marked:
    """One marked session that waits for its first check; ended by leaving it."""

    def __init__(self, folder: Path, journals: int, repeats: int, *more: str) -> None:
        """`more` options of `measure`."""
        folder.mkdir(parents=True)
        self.gauge, self.terminal = Gauge(), Terminal()
        self._trace = folder / "trace"
        self._found: dict[str, list[int]] = {}
        self._looked = 0
        plan = folder / "plan.toml"
        some = "".join(_JOURNAL.format(number=number) for number in range(1, journals + 1))
        plan.write_text(PLAN.format(repeats=repeats) + some, encoding="utf-8")
        profile = folder / "bench-gauge.toml"
        profile.write_text(PROFILE, encoding="utf-8")
        self.process = subprocess.Popen(
            [
                *(sys.executable, "-m", "bench.page_marked", str(self._trace), "measure"),
                *(str(plan), "--board", "--port", self.gauge.port, "--profile", str(profile)),
                *("--session", str(folder / "session"), "--home", str(folder / "home")),
                *more,
            ],
            cwd=ROOT,
            env={**os.environ, "TERM": "xterm", "COLUMNS": "", "LINES": ""},
            stdin=self.terminal.slave,
            stdout=self.terminal.slave,
            stderr=self.terminal.slave,
            start_new_session=True,
        )
        links = Path(f"{self._trace}.links")
        wait_until(lambda: links.exists() and links.read_text().endswith("\n"))
        self.link = links.read_text(encoding="utf-8").strip()
        wait_until(lambda: self.terminal.shown_ns("reading 1 of 2", 0) is not None)

    def check(self) -> None:
        """The check before measuring."""
        for size in STACK:
            before = len(self.marks()["disk-ends"])
            self.gauge.press(size)
            wait_until(partial(self.has_more, before))

    def has_more(self, before: int) -> bool:
        """More was stored than so many times."""
        return len(self.marks()["disk-ends"]) > before

    def marks(self) -> Mapping[str, Sequence[int]]:
        """When each mark was passed, in ns."""
        with self._trace.open("rb") as trace:  # only what is new: who watches must not be a load
            trace.seek(self._looked)
            new = trace.read()
        whole = new[: new.rfind(b"\n") + 1]
        self._looked += len(whole)
        for line in whole.decode().splitlines():
            name, _, at_ns = line.partition(" ")
            self._found.setdefault(name, []).append(int(at_ns))
        return self._found

    @property
    def server_pid(self) -> int:
        """The page's server: the one process that it started."""
        tasks = Path(f"/proc/{self.process.pid}/task").glob("*/children")
        (found,) = " ".join(task.read_text() for task in tasks).split()
        return int(found)

    def close(self) -> None:
        """End it, and its server with it."""
        with suppress(ProcessLookupError):
            os.kill(self.process.pid, signal.SIGTERM)
        with suppress(subprocess.TimeoutExpired):
            self.process.wait(5)
        self.process.kill()
        self.process.wait()
        self.gauge.close()


class Watched:
    """A page whose part `value` is watched."""

    def __init__(self, browser: Browser, link: str) -> None:
        self.page: Page = browser.new_context(viewport={"width": 1280, "height": 800}).new_page()
        self.page.add_init_script(_WATCH)
        self.page.goto(link)
        self._ahead_ns = self._clock()

    def _clock(self) -> int:
        """How far its clock is ahead of ours: from the quickest of twenty questions."""
        found = []
        for _ in range(20):
            before = time_ns()
            theirs = float(self.page.evaluate("performance.timeOrigin + performance.now()"))
            after = time_ns()
            found.append((after - before, round(theirs * 1e6) - (before + after) // 2))
        return min(found)[1]

    def changed_ns(self, text: str) -> tuple[int, int, int] | None:
        """When the event came, the value had changed, and it was painted; None as yet."""
        found: list[Any] = self.page.evaluate("window.changed")
        for shown, *moments in reversed(found):
            if text in shown:
                came, changed, painted = (round(ms * 1e6) - self._ahead_ns for ms in moments)
                return came, changed, painted
        return None

    def forget(self) -> None:
        """What has changed so far."""
        self.page.evaluate("window.changed = []")


def wait_until(condition: Callable[[], bool]) -> None:
    """Raises TimeoutError if it does not come."""
    until_s = time.monotonic() + PATIENCE_S
    while not condition():
        if time.monotonic() > until_s:
            raise TimeoutError("never came")
        time.sleep(0.01)
