"""Text ingest: os.read and the text codec against os.read, split and Decimal on the same bytes.

`python -m bench.ingest PORT COUNT` opens a port as a run does, says "ready" and reads COUNT lines,
for counting its calls.
"""

import os
import random
import sys
import threading
from collections.abc import Callable, Iterable
from decimal import Decimal
from time import thread_time_ns
from typing import TypeAlias

from bench.ratio import Row, interleaved, timed_row
from drivers.clock import Clock
from drivers.dialects.codec import codec_for
from drivers.gauge.reader import FromGauge, GaugeReader
from drivers.ports import open_port
from drivers.profile.file import read_profile
from drivers.profile.profile import SHIPPED, Profile
from drivers.reading import Outcome, Reading

PROFILE = "number-unit-crlf"
READ_BYTES = 4096
PIPE_BYTES = 16 * READ_BYTES
"""What a pipe holds on Linux unless told otherwise; so much is put in before each timed stretch."""
PIPES_A_ROUND = 5
"""Within a round, both take turns at pipes of bytes, in shuffled order."""

Found: TypeAlias = list[Decimal | Outcome]
Feed: TypeAlias = Callable[[int, int], Found]
"""Descriptor and number of reads to what was in the bytes read."""


def profile() -> Profile:
    """The shipped profile that is measured."""
    return read_profile(SHIPPED / f"{PROFILE}.toml")


def lines(count: int, seed: int = 1) -> list[bytes]:
    """Frames as a gauge of this profile sends them, with their end marks."""
    rng = random.Random(seed)
    return [b"%c59.%03d mm\r\n" % (rng.choice(b"+-"), rng.randrange(1000)) for _ in range(count)]


def limit() -> Feed:
    """The least that Python can do: nothing is checked, stamped or kept but the number."""
    rest = b""

    def feed(fd: int, reads: int) -> Found:
        nonlocal rest
        found: Found = []
        for _ in range(reads):
            *whole, rest = (rest + os.read(fd, READ_BYTES)).split(b"\r\n")
            for line in whole:
                found.append(Decimal(line[:-3].decode()))
        return found

    return feed


def ours() -> Feed:
    """What the read loop of a gauge does with the same bytes: stamp, frame, check, convert."""
    codec, clock = codec_for(profile()), Clock()

    def feed(fd: int, reads: int) -> Found:
        found: Found = []
        for _ in range(reads):
            data = os.read(fd, READ_BYTES)
            found += codec.feed(data, clock.now())
        return found

    return feed


class _Pipe:
    """The same bytes for one program, a full pipe at a time."""

    def __init__(self, feed: Feed, data: bytes) -> None:
        self._feed = feed
        self._data = data
        self._place = 0
        self._source, self._sink = os.pipe()
        self.found: Found = []

    def run(self) -> float:
        """Read the next full pipe: CPU time of the reading alone, in ns."""
        batch = self._data[self._place : self._place + PIPE_BYTES]
        self._place += PIPE_BYTES
        os.write(self._sink, batch)
        start = thread_time_ns()
        found = self._feed(self._source, PIPE_BYTES // READ_BYTES)
        spent = thread_time_ns() - start
        self.found = found
        return spent

    def close(self) -> None:
        os.close(self._source)
        os.close(self._sink)


def measure(rounds: int) -> Row:
    """CPU time a line of a firehose, over `rounds`."""
    length = len(lines(1)[0])
    pipes = rounds * PIPES_A_ROUND
    data = b"".join(lines(pipes * PIPE_BYTES // length + 1))
    the_pipes = {"ours": _Pipe(ours(), data), "limit": _Pipe(limit(), data)}
    try:
        times = interleaved({name: pipe.run for name, pipe in the_pipes.items()}, pipes)
    finally:
        for pipe in the_pipes.values():
            pipe.close()
    readings = [each.value for each in the_pipes["ours"].found if isinstance(each, Reading)]
    assert readings == the_pipes["limit"].found, "both must find the same"
    lines_a_round = PIPES_A_ROUND * PIPE_BYTES / length
    ours_us, limit_us = (
        [
            sum(times[name][place : place + PIPES_A_ROUND]) / lines_a_round / 1000
            for place in range(0, pipes, PIPES_A_ROUND)
        ]
        for name in ("ours", "limit")
    )
    return timed_row("text ingest, CPU a line", 5, ours_us, limit_us, "µs")


def read_port(name: str, count: int, ready: Callable[[], object]) -> Iterable[Reading]:
    """The first `count` readings from a port, read by a gauge's own loop and thread."""
    found: list[Reading] = []
    faults: list[FromGauge] = []
    over = threading.Event()

    def put(item: FromGauge) -> None:
        if isinstance(item, Reading):
            found.append(item)
        else:
            faults.append(item)
        if faults or len(found) == count:
            over.set()

    the_profile = profile()
    port = open_port(name, the_profile.link)
    reader = GaugeReader(port, lambda: codec_for(the_profile), Clock(), put)
    reader.start()
    ready()
    over.wait()
    reader.stop()
    if faults:
        raise RuntimeError(f"the port gave {faults[0]}")
    return found


def main() -> None:
    """Read so many lines from a port."""
    read_port(sys.argv[1], int(sys.argv[2]), lambda: print("ready", flush=True))


if __name__ == "__main__":
    main()
