"""Durable append: the ledger against os.write and os.fdatasync of the same bytes.

`python -m bench.append FOLDER COUNT` appends COUNT records to a new ledger, for counting its calls.
"""

import os
import sys
from pathlib import Path
from statistics import median
from time import perf_counter_ns

from bench.ratio import Row, interleaved, timed_row
from daq.lengths import Position
from daq.record.events import Entry, Read, Sent
from daq.storage.chain import START, sealed
from daq.storage.ledger import Ledger
from daq.storage.ledger_codec import body_of

BLOCKS_A_ROUND, RECORDS_A_BLOCK = 20, 10
"""Within a round, blocks of both alternate in shuffled order: a disk has slow moments, too."""

_AT_US = 1_795_593_600_000_000  # 2026-11-25T08:00:00Z

IN_MEMORY = ("tmpfs", "ramfs")


class NotADisk(Exception):
    """The folder lies in memory, where a sync costs nothing."""


def entry(seq: int) -> Entry:
    """A reading as a session stores it, in line `seq`."""
    number = f"59.{seq % 1000:03d}"
    raw = f"+{number} mm"
    sent = Sent(number, "mm", "0.001", None, (), raw.encode().hex())
    event = Read(stint=1, place=Position("M1", "front", seq % 4 * 45, 1), sent=sent)
    return Entry(seq, _AT_US + seq * 1000, event)


def filesystem(folder: Path) -> str:
    """The type of the filesystem that `folder` lies on; "unknown" where the system does not say."""
    try:
        mounts = Path("/proc/mounts").read_text(encoding="utf-8").splitlines()
    except OSError:
        return "unknown"
    real = folder.resolve()
    best, kind = -1, "unknown"
    for line in mounts:
        _, point, found, *_ = line.split()
        where = Path(point)
        if real.is_relative_to(where) and len(where.parts) >= best:
            best, kind = len(where.parts), found
    return kind


def need_disk(folder: Path) -> None:
    """Raises NotADisk if a sync in `folder` would cost nothing."""
    kind = filesystem(folder)
    if kind in IN_MEMORY:
        raise NotADisk(f"the folder for appends is on {kind}; give one on a disk with --folder")


def measure(folder: Path, rounds: int) -> Row:
    """The p50 of one durable append, over `rounds`; raises NotADisk."""
    need_disk(folder)
    many = BLOCKS_A_ROUND * RECORDS_A_BLOCK * rounds
    entries = [entry(seq) for seq in range(1, many + 1)]
    same_bytes, chain = [], START
    for one in entries:
        line, chain = sealed(body_of(one), chain)
        same_bytes.append(line + b"\n")
    ledger = Ledger.create(folder / "session")
    fd = os.open(folder / "limit.jsonl", os.O_WRONLY | os.O_APPEND | os.O_CREAT | os.O_EXCL, 0o666)
    to_append, to_write = iter(entries), iter(same_bytes)

    def ours() -> float:
        times = []
        for _ in range(RECORDS_A_BLOCK):
            record = [next(to_append)]
            start = perf_counter_ns()
            ledger.append(record)
            times.append(perf_counter_ns() - start)
        return median(times) / 1000

    def limit() -> float:
        times = []
        for _ in range(RECORDS_A_BLOCK):
            data = next(to_write)
            start = perf_counter_ns()
            os.write(fd, data)
            os.fdatasync(fd)
            times.append(perf_counter_ns() - start)
        return median(times) / 1000

    try:
        blocks = interleaved({"ours": ours, "limit": limit}, rounds * BLOCKS_A_ROUND)
    finally:
        os.close(fd)
        ledger.close()
    assert (folder / "session" / "ledger.jsonl").read_bytes() == b"".join(same_bytes)
    p50_ours, p50_limit = (
        [
            median(blocks[name][place : place + BLOCKS_A_ROUND])
            for place in range(0, len(blocks[name]), BLOCKS_A_ROUND)
        ]
        for name in ("ours", "limit")
    )
    return timed_row("durable append of one reading, p50", 1.15, p50_ours, p50_limit, "µs")


def main() -> None:
    """Append so many records to a new ledger in a folder."""
    folder, count = Path(sys.argv[1]), int(sys.argv[2])
    entries = [entry(seq) for seq in range(1, count + 1)]
    ledger = Ledger.create(folder)
    for one in entries:
        ledger.append([one])
    ledger.close()


if __name__ == "__main__":
    main()
