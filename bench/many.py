"""Sixteen gauges at fifty readings a second: our read loops against one selectors loop.

`python -m bench.many ours|limit COUNT PORT...` reads COUNT lines from every port, says "ready" when
all are open, and at last how many lines it got and the processor time they took.
"""

import os
import selectors
import subprocess
import sys
import threading
import time
import tty
from decimal import Decimal

from bench.ingest import lines, profile
from bench.ratio import Row, interleaved, timed_row
from bench.startup import ROOT
from drivers.clock import Clock
from drivers.dialects.codec import codec_for
from drivers.gauge.reader import FromGauge, GaugeReader
from drivers.ports import open_port
from drivers.reading import Reading

GAUGES = 16
READINGS_A_SECOND = 50
SECONDS = 2
READ_BYTES = 4096
PATIENCE_S = 60.0


def limit(ports: list[str], count: int) -> tuple[int, float]:
    """The least that Python can do for many ports: one loop, nothing checked or stamped."""
    selector, rest = selectors.DefaultSelector(), dict.fromkeys(ports, b"")
    for port in ports:
        selector.register(os.open(port, os.O_RDWR | os.O_NOCTTY), selectors.EVENT_READ, port)
    began_s = _ready()
    found: list[Decimal] = []
    while len(found) < count * len(ports):
        for key, _ in selector.select():
            *whole, rest[key.data] = (rest[key.data] + os.read(key.fd, READ_BYTES)).split(b"\r\n")
            found += [Decimal(line[:-3].decode()) for line in whole]
    return len(found), time.process_time() - began_s


def ours(ports: list[str], count: int) -> tuple[int, float]:
    """A read loop in a thread for each; what is done with a reading is no part of either."""
    used, clock, all_there = profile(), Clock(), threading.Event()
    found: list[FromGauge] = []

    def put(item: FromGauge) -> None:
        found.append(item)
        if len(found) >= count * len(ports):
            all_there.set()

    readers = [
        GaugeReader(open_port(port, used.link), lambda: codec_for(used), clock, put)
        for port in ports
    ]
    for reader in readers:
        reader.start()
    began_s = _ready()
    all_there.wait(PATIENCE_S)
    took_s = time.process_time() - began_s
    for reader in readers:
        reader.stop()
    return sum(isinstance(item, Reading) for item in found), took_s


def _ready() -> float:
    """All is open; the processor time from which the child measures."""
    began_s = time.process_time()
    print("ready", flush=True)
    return began_s


class Lost(Exception):
    """Readings that were sent and did not arrive."""


def _cpu_ms(which: str) -> float:
    """Milliseconds of processor time of a child that reads all that sixteen gauges send."""
    pairs = [os.openpty() for _ in range(GAUGES)]
    try:
        for _, slave in pairs:
            tty.setraw(slave)
        count = READINGS_A_SECOND * SECONDS
        ports = [os.ttyname(slave) for _, slave in pairs]
        with subprocess.Popen(
            [sys.executable, "-m", "bench.many", which, str(count), *ports],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            text=True,
        ) as child:
            assert child.stdout is not None
            if child.stdout.readline() != "ready\n":
                raise RuntimeError("the reading child did not start")
            _play([master for master, _ in pairs], count)
            said = child.stdout.readline().split()
            if child.wait(PATIENCE_S) or int(said[0]) != count * GAUGES:
                raise Lost(f"{which}: {said} of {count * GAUGES} readings")
            return float(said[1])
    finally:
        for master, slave in pairs:
            os.close(slave)
            os.close(master)


def _play(masters: list[int], count: int) -> None:
    """Each gauge sends at its own moment, as gauges do, and all of them fifty times a second."""
    step_s = 1 / (READINGS_A_SECOND * len(masters))
    due_s = time.monotonic()
    for line in lines(count):
        for master in masters:
            due_s += step_s
            time.sleep(max(0.0, due_s - time.monotonic()))
            os.write(master, line)


def measure(rounds: int) -> Row:
    """The processor time of both, round by round; raises Lost if a reading is lost."""
    programs = {name: (lambda which=name: _cpu_ms(which)) for name in ("limit", "ours")}
    times = interleaved(programs, rounds)
    return timed_row(
        f"{GAUGES} gauges at {READINGS_A_SECOND} readings a second for {SECONDS} s, none lost: "
        "processor time, against a selectors loop",
        2,
        times["ours"],
        times["limit"],
        "ms",
    )


def main() -> None:
    """One child."""
    which, count, *ports = sys.argv[1:]
    found, took_s = {"ours": ours, "limit": limit}[which](ports, int(count))
    print(found, f"{took_s * 1000:.3f}", flush=True)


if __name__ == "__main__":
    main()
