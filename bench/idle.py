"""A session that waits for its gauge: its system calls, against a bare loop that polls.

`python -m bench.idle` is that bare loop: one poll, twice a second.
"""

import os
import re
import select
import signal
import subprocess
import sys
import time
import tty
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from bench.counts import need_strace
from bench.ratio import Row
from bench.startup import ROOT

WATCHED_S = 5.0
SETTLING_S = 1.5
"""After the session stands: what its start still does is over by then."""
POLL_S = 0.5
PLAN = """schema = 1
part = "idle"
[check]
stack = "59.97 mm"
[[journal]]
name = "M1"
low = "59.97 mm"
high = "59.99 mm"
"""

_WAITS = re.compile(r"\b(poll|ppoll|select|pselect6|epoll_wait|futex|read|clock_nanosleep)\(")


def _watched(command: Sequence[str], folder: Path, ready: str) -> list[str]:
    """The calls of a program within WATCHED_S of its idleness, as strace writes them."""
    trace = folder / "idle.txt"
    with subprocess.Popen(
        ["strace", "-f", "-ttt", "-o", str(trace), *command],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        start_new_session=True,
    ) as child:
        try:
            assert child.stdout is not None
            while ready not in child.stdout.readline():
                if child.poll() is not None:
                    raise RuntimeError(f"ended before it was idle: {command}")
            time.sleep(SETTLING_S)
            begin_s = time.time()
            time.sleep(WATCHED_S)
            end_s = time.time()
        finally:
            # The whole group: a killed strace lets its program go on, for ever if it is the loop.
            with suppress(ProcessLookupError):
                os.killpg(child.pid, signal.SIGKILL)
    calls = []
    for line in trace.read_text(encoding="utf-8").splitlines():
        _, moment, call = line.split(maxsplit=2)
        if begin_s <= float(moment) < end_s and "resumed>" not in call and "(" in call:
            calls.append(call)
    return calls


def _session(folder: Path) -> list[str]:
    plan = folder / "plan.toml"
    plan.write_text(PLAN, encoding="utf-8")
    master, slave = os.openpty()
    try:
        tty.setraw(slave)
        return _watched(
            [
                *(sys.executable, "-m", "daq", "measure", str(plan), "--json"),
                *("--port", os.ttyname(slave), "--profile", "number-unit-crlf"),
                *("--session", str(folder / "waiting"), "--home", str(folder)),
            ],
            folder,
            '"kind":"stint"',
        )
    finally:
        os.close(slave)
        os.close(master)


def measure(folder: Path) -> list[Row]:
    """The exact counts; the child works in `folder`. Raises NoStrace."""
    need_strace()
    bare = _watched([sys.executable, "-m", "bench.idle"], folder, "ready")
    calls = _session(folder)
    wakes = [call for call in calls if _WAITS.search(call)]
    per_second = len(wakes) / WATCHED_S
    return [
        Row(
            f"system calls of a waiting session in {WATCHED_S:g} s, a tenth of them against a "
            "bare poll loop",
            f"{len(bare)} calls",
            f"{len(calls)} calls",
            len(calls) / 10,
            len(bare),
        ),
        Row("its wake-ups a second", "2", f"{per_second:g}", per_second, 2),
    ]


def main() -> None:
    """The bare loop."""
    quiet, _ = os.pipe()
    poll = select.poll()
    poll.register(quiet, select.POLLIN)
    print("ready", flush=True)
    while True:
        poll.poll(round(POLL_S * 1000))


if __name__ == "__main__":
    main()
