"""System calls a record and a line, by strace: a child does N and 2 N, and the difference counts.

What start-up and end cost is the same in both and cancels out.
"""

import fcntl
import os
import shutil
import struct
import subprocess
import sys
import termios
import time
import tty
from collections import Counter
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TypeAlias

from bench import ingest
from bench.ratio import Row
from bench.startup import ROOT

RECORDS = 200
LINES = 200
PATIENCE_S = 30.0

_SYNCS = ("fsync", "fdatasync", "sync", "syncfs", "sync_file_range", "msync")
_MEMORY = ("brk", "mmap", "munmap", "mremap", "madvise")
"""The allocator's own calls; one every few thousand records, by no fixed rule."""

Calls: TypeAlias = Counter[str]


class NoStrace(Exception):
    """strace is not installed, or not permitted, so nothing can be counted."""


def need_strace() -> None:
    """Raises NoStrace with what to do."""
    if shutil.which("strace") is None:
        raise NoStrace("strace is not installed, so system calls cannot be counted; install it")
    tried = subprocess.run(["strace", "-c", "true"], capture_output=True, text=True, check=False)
    if tried.returncode:
        raise NoStrace(f"strace may not trace here ({tried.stderr.strip()[:200]})")


def calls_in(table: str) -> Calls:
    """The calls by name in what `strace -c` wrote: name last in a line, number of calls fourth."""
    calls: Calls = Counter()
    for line in table.splitlines():
        words = line.split()
        if len(words) >= 5 and words[0][0].isdigit() and words[-1] != "total":
            calls[words[-1]] = int(words[3])
    return calls


def _traced(table: Path, *words: str) -> list[str]:
    return ["strace", "-f", "-c", "-o", str(table), sys.executable, "-m", *words]


_QUIET = {"PYTHONHASHSEED": "0", "PYTHONDONTWRITEBYTECODE": "1"}
"""The same work in both children."""


def _appending(folder: Path, count: int) -> Calls:
    table = folder / f"append-{count}.txt"
    subprocess.run(
        _traced(table, "bench.append", str(folder / f"ledger-{count}"), str(count)),
        cwd=ROOT,
        env={**os.environ, **_QUIET},
        check=True,
        timeout=PATIENCE_S,
    )
    return calls_in(table.read_text(encoding="utf-8"))


def _reading(folder: Path, count: int) -> Calls:
    table = folder / f"read-{count}.txt"
    master, slave = os.openpty()
    try:
        tty.setraw(slave)
        with subprocess.Popen(
            _traced(table, "bench.ingest", os.ttyname(slave), str(count)),
            cwd=ROOT,
            env={**os.environ, **_QUIET},
            stdout=subprocess.PIPE,
        ) as process:
            assert process.stdout is not None
            if process.stdout.readline() != b"ready\n":
                raise RuntimeError("the reading child did not start")
            for line in ingest.lines(count):
                os.write(master, line)
                _wait_until_taken(slave)
            if process.wait(PATIENCE_S):
                raise RuntimeError(f"the reading child ended in {process.returncode}")
    finally:
        os.close(slave)
        os.close(master)
    return calls_in(table.read_text(encoding="utf-8"))


def _wait_until_taken(slave: int) -> None:
    """Until the reader has taken the line; RuntimeError if it does not."""
    # A moment first: nothing lies at the other end yet while the line is on its way there.
    deadline = time.monotonic() + PATIENCE_S
    while True:
        time.sleep(0.005)
        (waiting,) = struct.unpack("i", fcntl.ioctl(slave, termios.FIONREAD, b"\0" * 4))
        if not waiting:
            return
        if time.monotonic() > deadline:
            raise RuntimeError("the reading child does not read")


def difference(count: Callable[[int], Mapping[str, int]], many: int) -> Calls:
    """What `many` more of them cost, by call; a call may be fewer in the longer run."""
    once, twice = count(many), count(2 * many)
    more: Calls = Counter(
        {name: twice.get(name, 0) - once.get(name, 0) for name in {*once, *twice}}
    )
    return Counter({name: number for name, number in more.items() if number})


def measure(folder: Path) -> list[Row]:
    """The exact counts; children work in `folder`. Raises NoStrace."""
    need_strace()
    appended = difference(lambda many: _appending(folder, many), RECORDS)
    syncs = sum(appended[name] for name in _SYNCS)
    read = difference(lambda many: _reading(folder, many), LINES)
    return [
        Row(
            goal=f"exactly one sync a record ({RECORDS} records)",
            limit="1 each",
            ours=f"{syncs}",
            value=syncs / RECORDS,
            bound=1,
            is_exact=True,
        ),
        # One write, one sync, and before them a look at the open file and one at its name: another
        # program may have put a different file there, and that must not be acknowledged into.
        _row(f"system calls a record ({RECORDS} records)", appended, RECORDS, 4),
        _row(f"system calls a line, paced on a pty ({LINES} lines)", read, LINES, 3),
    ]


def _row(goal: str, calls: Calls, many: int, bound: int) -> Row:
    own = {name: number for name, number in calls.items() if name not in _MEMORY}
    memory = sum(calls[name] for name in _MEMORY)
    text = " + ".join(f"{name} {number}" for name, number in sorted(own.items()))
    if memory:
        text += f"; allocator {memory:+d}, not counted"
    # Threads start with a few more or fewer futex calls; fewer of one call pay for no other.
    total = sum(number for number in own.values() if number > 0)
    return Row(goal, f"{bound} each", text, total / many, bound)
