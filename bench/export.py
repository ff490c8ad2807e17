"""Export with verification of ledgers of 100,000 events: against the libraries alone.

Verified and exported is what `jbridge export` does: every digest, the fold of all lines, what lies
beside the ledger, all tables, their metadata and the writing of them. The limit is a bare loop over
the same bytes: SHA-256, msgspec, csv, and nothing is kept of a line. Processor time.

`python -m bench.export FOLDER` tells by how much the export of one ledger lets a process grow.
"""

import csv
import io
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from hashlib import sha256
from pathlib import Path

import msgspec

from bench.crank_sessions import Job, opened
from bench.ratio import Row, interleaved, timed_row
from bench.shop import ANGLES_DEG
from bench.startup import ROOT
from daq.export.csv_files import files_of, write_files
from daq.lengths import Position
from daq.record.advance import Advance
from daq.record.events import AnyEvent, Entry, Noted, Read, Rejected, Sent, Temperatures, Voided
from daq.record.evolve import begin
from daq.record.state import State, status
from daq.rules.commands import TakeReading
from daq.rules.decide import decide, settle
from daq.services.verify import unlike_files
from daq.storage.chain import START, TAIL_BYTES, sealed
from daq.storage.ledger import LEDGER
from daq.storage.ledger_codec import body_of
from daq.storage.replay import replay_entries
from daq.storage.whole import whole
from drivers.reading import Instant, Reading, utc_micros

EVENTS = 100_000
BOUND = 4
_BEGAN_US = utc_micros("2026-11-25T08:00:00.000000Z")
_SECOND_US = 1_000_000
_STEP_US = 100_000
"""Between two lines: the whole session lies within the time that a check holds for."""
_CHECK = "59.970"


# Ledgers ------------------------------------------------------------------------------------------


class Shape(msgspec.Struct, frozen=True):
    """A plan, and what happens at each of its places: the events there, the first of them in line
    `seq`; the last leaves a reading standing.
    """

    job: Job
    at: Callable[[int, Position], Iterator[AnyEvent]]

    @property
    def places(self) -> int:
        """How many there are, repeats counted."""
        return self.job.journals * 2 * len(ANGLES_DEG) * self.job.repeats


def _read(seq: int, place: Position) -> Read:
    value = f"59.98{seq % 7}"
    raw_hex = f"{value} mm".encode().hex()
    return Read(stint=1, place=place, sent=Sent(value, "mm", "0.001", None, (), raw_hex))


def _taken_back(seq: int, place: Position) -> Iterator[AnyEvent]:
    """A note, then four readings that are taken back, then one that stands."""
    yield Noted(about="note", text=f"wiped {place.spoken}", by="keyboard")
    for turn in range(4):
        yield _read(seq, place)
        yield Voided(target=seq + 1 + 2 * turn, why="back", by="keyboard")
    yield _read(seq, place)


def _talked_of(seq: int, place: Position) -> Iterator[AnyEvent]:
    """Notes and bytes that gave no reading, in turn, then a reading."""
    for turn in range(390):
        yield Noted(about="note", text=f"{turn}: the spindle sticks, oiled", by="board")
        yield Rejected(
            code="no-number", detail="Err 2", raw_hex=b"Err 2\r".hex(), skipped=0, flags=()
        )
    yield _read(seq, place)


def _once(seq: int, place: Position) -> Iterator[AnyEvent]:
    yield _read(seq, place)


SHAPES = {
    "10,000 places, each read, taken back and read again four times": Shape(
        Job(tolerance=20, repeats=5, journals=250), _taken_back
    ),
    "128 places, between them notes and rejected bytes": Shape(
        Job(tolerance=20, repeats=4, journals=4), _talked_of
    ),
    # More places than a plan may have: what one place costs, and nothing else.
    "as many places, each read once": Shape(Job(tolerance=20, repeats=50, journals=250), _once),
}


def entries_of(shape: Shape) -> list[Entry]:
    """A session of a shape, from its first check to its closing line."""
    first = Entry(1, _BEGAN_US, opened(shape.job, Temperatures()))
    begun = settle(Advance(begin(first, "bench"), _BEGAN_US))
    state, more = _checked(begun.state)
    lines = [first, *begun.entries, *more]
    at_us = state.last_us
    for place in state.scope.route:
        for event in shape.at(len(lines) + 1, place):
            at_us += _STEP_US
            lines.append(Entry(len(lines) + 1, at_us, event))
    state, more = _checked(replay_entries(lines, Path("bench")))
    assert state.closed is not None
    return [*lines, *more]


def _checked(state: State) -> tuple[State, list[Entry]]:
    """The stack is read until a check is over."""
    before, entries = status(state), list[Entry]()
    while status(state) is before:
        at_us = state.last_us + _SECOND_US
        raw = f"{_CHECK} mm".encode()
        arrived = Instant(at_us, at_us * 1000)
        reading = Reading(Decimal(_CHECK), "mm", Decimal("0.001"), raw, arrived)
        taken = decide(state, TakeReading(reading), at_us)
        state = taken.state
        entries += taken.entries
    return state, entries


def write_ledger(folder: Path, entries: Sequence[Entry]) -> Path:
    """The lines as the program writes them, without the sync after each."""
    folder.mkdir(parents=True)
    chain, lines = START, []
    for entry in entries:
        line, chain = sealed(body_of(entry), chain)
        lines.append(line + b"\n")
    (folder / LEDGER).write_bytes(b"".join(lines))
    return folder


def memory_words(folder: Path) -> str:
    """How much memory the export of 100,000 events takes, told for RESULTS.md."""
    name, shape = next(iter(SHAPES.items()))
    ledger = write_ledger(folder / "memory", entries_of(shape))
    command = [sys.executable, "-m", "bench.export", str(ledger)]
    ran = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, text=True)
    grown = int(ran.stdout)
    size = (ledger / LEDGER).stat().st_size
    return (
        f"{grown / 1e6:.0f} MB at most, {grown / EVENTS:.0f} bytes an event, for a ledger of "
        f"{size / 1e6:.0f} MB ({name})"
    )


def _grown(folder: Path) -> int:
    """By how many bytes an export lets this process grow, at most."""
    before = _most_bytes()
    export(folder)
    return _most_bytes() - before


def _most_bytes() -> int:
    """The most memory that this process has had. `getrusage` has that of the process before it too,
    from which it was forked.
    """
    lines = Path("/proc/self/status").read_text(encoding="ascii").splitlines()
    (kib,) = (line.split()[1] for line in lines if line.startswith("VmHWM:"))
    return int(kib) * 1024


# Programs -----------------------------------------------------------------------------------------


def bare(folder: Path) -> str:
    """The limit: every digest, every line decoded, a row of each."""
    previous, decode = START, msgspec.json.Decoder().decode
    file = io.StringIO()
    row = csv.writer(file).writerow
    for line in (folder / LEDGER).read_bytes().split(b"\n")[:-1]:
        digest = sha256(previous.encode() + line[:-TAIL_BYTES]).hexdigest()
        assert line[-66:-2].decode() == digest
        previous = digest
        told = decode(line)
        sent = told.get("sent")
        if sent is None:
            row([told["seq"], told["at"], told["kind"]])
            continue
        cells = [sent[name] for name in ("value", "unit", "resolution", "raw_hex")]
        row([told["seq"], told["at"], told["kind"], *told.get("place", {}).values(), *cells])
    return file.getvalue()


def export(folder: Path) -> None:
    """As `jbridge export` does it."""
    state, found = whole(folder)
    files = files_of(state, found)
    unlike_files(folder, files)  # of those that lie there, told before they are written again
    write_files(folder, files)


def _ms(program: Callable[[Path], object], folder: Path) -> float:
    began_s = time.process_time()
    program(folder)
    return (time.process_time() - began_s) * 1000


def measure(folder: Path, rounds: int) -> list[Row]:
    """A row for each shape."""
    ledgers = {
        name: write_ledger(folder / str(number), entries_of(shape))
        for number, (name, shape) in enumerate(SHAPES.items())
    }
    return [_row(name, ledger, rounds) for name, ledger in ledgers.items()]


def _row(name: str, ledger: Path, rounds: int) -> Row:
    times = interleaved(
        {"bare": lambda: _ms(bare, ledger), "export": lambda: _ms(export, ledger)}, rounds
    )
    return timed_row(
        f"export with verification of {EVENTS:,} events ({name}), against sha256, msgspec and csv "
        "alone over the same bytes",
        BOUND,
        times["export"],
        times["bare"],
        "ms",
    )


if __name__ == "__main__":
    print(_grown(Path(sys.argv[1])))
