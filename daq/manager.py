"""The session manager: decide, append, evolve, in this order; it alone holds state and ledger."""

from collections.abc import Sequence
from pathlib import Path
from typing import Self

import msgspec

from daq.commands import Command
from daq.decide import decide, settle
from daq.errors import LedgerDamaged, PlanError, Refused, SettingsError
from daq.events import Entry, Opened, Setup
from daq.evolve import begin, evolve
from daq.records.ledger import Ledger, Scan, scan
from daq.resuming import resume
from daq.session import State, Status, status
from daq.stints import Events


class Step(msgspec.Struct, frozen=True):
    """What one command led to: the entries, and their lines as they stand in the ledger."""

    entries: tuple[Entry, ...]
    lines: tuple[bytes, ...]

    def and_then(self, later: "Step") -> "Step":
        """Both, one after the other."""
        return Step((*self.entries, *later.entries), (*self.lines, *later.lines))


class SessionManager:
    """One open session. Nothing is shown or acknowledged before it is on the disk."""

    def __init__(self, ledger: Ledger, state: State) -> None:
        self._ledger = ledger
        self.state = state

    @classmethod
    def create(cls, folder: Path, opened: Opened, at_us: int) -> tuple[Self, Step]:
        """A new session in a new folder."""
        state = begin(Entry(1, at_us, opened), opened.plan_name)
        events: Events = (opened, *settle(state, at_us))
        ledger = Ledger.create(folder)
        entries = _numbered(events, 0, at_us)
        try:
            lines = ledger.append(entries)
        except BaseException:
            ledger.close()
            raise
        for entry in entries[1:]:
            state = evolve(state, entry)
        return cls(ledger, state), Step(tuple(entries), tuple(lines))

    @classmethod
    def resume(
        cls, folder: Path, setup: Setup, at_us: int, same_gauge: str | None
    ) -> tuple[Self, Step]:
        """Carry on an open session; raises Refused("session-closed") for a closed one."""
        ledger, found, torn_file = Ledger.open(folder)
        try:
            state = replay(found, folder)
            refuse_closed(state, folder)
            manager = cls(ledger, state)
            events = resume(
                state,
                setup,
                at_us,
                same_gauge=same_gauge,
                torn_bytes=len(found.torn),
                torn_file=torn_file,
            )
            return manager, manager._store(events, at_us)
        except BaseException:
            ledger.close()
            raise

    @property
    def folder(self) -> Path:
        """Where the session lies."""
        return self._ledger.folder

    @property
    def chain(self) -> str:
        """The digest of the last line."""
        return self._ledger.chain

    @property
    def is_done(self) -> bool:
        """Nothing more is to be taken in: closed, or open with no stint running."""
        return status(self.state) in (Status.CLOSED, Status.OVER)

    def submit(self, command: Command, at_us: int) -> Step:
        """Take a command in; raises Refused, and then nothing has happened."""
        events = decide(self.state, command, at_us)
        return self._store(events, at_us)

    def _store(self, events: Events, at_us: int) -> Step:
        if not events:
            return Step((), ())
        entries = _numbered(events, self.state.last_seq, at_us)
        lines = self._ledger.append(entries)
        for entry in entries:
            self.state = evolve(self.state, entry)
        return Step(tuple(entries), tuple(lines))

    def close(self) -> None:
        """Give the session back; as often as you like."""
        self._ledger.close()


def refuse_closed(state: State, folder: Path) -> None:
    """Raises Refused("session-closed") for a closed session."""
    if state.closed is not None:
        raise Refused(
            "session-closed",
            f"Session {folder} is closed ({state.closed.verdict}), and a closed session is final; "
            "measure the part again in a new one",
        )


def _numbered(events: Events, last_seq: int, at_us: int) -> list[Entry]:
    return [Entry(last_seq + place, at_us, event) for place, event in enumerate(events, 1)]


def replay(found: Scan, folder: Path) -> State:
    """The state of a scanned ledger; LedgerDamaged if its plan is none."""
    return replay_entries(found.entries, folder)


def replay_entries(entries: Sequence[Entry], folder: Path) -> State:
    """As `replay`, of entries at hand."""
    state = begin_state(entries[0], folder)
    for entry in entries[1:]:
        state = evolve_state(state, entry, folder)
    return state


def evolve_state(state: State, entry: Entry, folder: Path) -> State:
    """As `evolve`; LedgerDamaged if what a run recorded cannot be read by this program."""
    try:
        return evolve(state, entry)
    except (PlanError, SettingsError, ValueError, ArithmeticError, LookupError) as error:
        raise LedgerDamaged(folder, entry.seq, f"{type(error).__name__}: {error}") from error


def begin_state(first: Entry, folder: Path) -> State:
    """The state after the first line; LedgerDamaged if the plan in it is none."""
    try:
        return begin(first, f"{folder} (plan in the ledger)")
    except (PlanError, SettingsError, ValueError, ArithmeticError, LookupError) as error:
        raise LedgerDamaged(folder, 1, f"{type(error).__name__}: {error}") from error


def load_state(folder: Path) -> tuple[State, Scan]:
    """Read a session without taking hold of it."""
    found = scan(folder)
    return replay(found, folder), found
