"""Programs that append to ledgers and are not expected to live: run by the tests, in a process of
their own. `serve` forks a writer for every folder it is told, so that a kill costs no start.
"""

import gc
import os
import random
import resource
import select
import signal
import sys
from pathlib import Path

from daq.errors import LedgerLocked, LedgerNotWritten
from daq.record.events import AnyEvent, Entry, Noted
from daq.storage.ledger import Ledger
from tests.builders import START_US, opened


def serve() -> None:
    """For each `FOLDER SEED` on stdin: a writer, killed at a moment that the seed gives; then one
    line with the seqs that it acknowledged.
    """
    gc.freeze()  # so that no writer copies what was imported, to look for circles
    for line in sys.stdin:
        folder, seed = line.rstrip("\n").split("\t")
        print(" ".join(map(str, _killed(Path(folder), random.Random(int(seed))))), flush=True)


def _killed(folder: Path, dice: random.Random) -> list[int]:
    wanted, spare_s = dice.randrange(1, 6), dice.random() * 0.003
    ours, theirs = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.close(ours)
        _write(folder, theirs, dice.choice([1, 1, 2, 30]))
    os.close(theirs)
    told = b""
    while told.count(b"\n") < wanted:
        more = os.read(ours, 4096)
        assert more, "the writer ended by itself"
        told += more
    # No more than `spare_s` from here: what is said until then is read along.
    select.select([], [], [], spare_s)
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    while more := os.read(ours, 65536):
        told += more
    os.close(ours)
    return [int(seq) for seq in told.split(b"\n") if seq]


def _write(folder: Path, out: int, batch: int) -> None:
    """Append for ever; says the last seq of a batch once `append` gave it back."""
    if folder.exists():
        ledger, found, _ = Ledger.open(folder)
        seq = len(found.entries)
    else:
        ledger, seq = Ledger.create(folder), 1
        ledger.append([Entry(1, START_US, opened())])
        os.write(out, b"1\n")
    while True:
        entries = [
            Entry(n, START_US, Noted(about="note", text=f"{n} " + "x" * 300))
            for n in range(seq + 1, seq + 1 + batch)
        ]
        ledger.append(entries)
        seq += batch
        os.write(out, b"%d\n" % seq)


def fill(folder: Path, most_bytes: int) -> None:
    """Append until the system refuses to let the file grow; prints every acknowledged seq, then
    what a further try gave.
    """
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    ledger, seq = Ledger.create(folder), 0
    _, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, hard))
    events: list[AnyEvent] = [opened(), *(Noted(about="note", text="x" * n) for n in range(10_000))]
    try:
        for event in events:
            ledger.append([Entry(seq + 1, START_US, event)])
            seq += 1
            print(seq, flush=True)
    except LedgerNotWritten as error:
        print("full:", error, flush=True)
    resource.setrlimit(resource.RLIMIT_FSIZE, (hard, hard))  # there is room again
    try:
        ledger.append([Entry(seq + 1, START_US, Noted(about="note", text=""))])
    except LedgerNotWritten:
        print("still refused", flush=True)


def take(folder: Path) -> None:
    """Try to open a ledger that another process holds."""
    try:
        Ledger.open(folder)
    except LedgerLocked as error:
        print("locked:", error)
    else:
        print("opened")


if __name__ == "__main__":
    word, *rest = sys.argv[1:]
    if word == "serve":
        serve()
    elif word == "fill":
        fill(Path(rest[0]), int(rest[1]))
    else:
        take(Path(rest[0]))
