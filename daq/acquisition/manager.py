"""The session manager: decide, append, adopt the state, in this order; it alone holds both."""

from pathlib import Path
from typing import Self

import msgspec

from daq.errors import LedgerNotWritten, Refused
from daq.record.advance import Advance
from daq.record.events import Entry, Opened, Setup
from daq.record.evolve import begin
from daq.record.state import State, Status, status
from daq.rules.commands import Command
from daq.rules.decide import decide, settle
from daq.rules.resume import resume
from daq.storage.ledger import Ledger
from daq.storage.replay import replay


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
        self._is_torn = False
        self.state = state

    @classmethod
    def create(
        cls, folder: Path, opened: Opened, at_us: int, refuge: Path | None = None
    ) -> tuple[Self, Step]:
        """A new session in a new folder; `refuge` as `Ledger.create` has it."""
        first = Entry(1, at_us, opened)
        begun = settle(Advance(begin(first, opened.plan_name), at_us, (first,)))
        ledger = Ledger.create(folder, refuge)
        try:
            lines = ledger.append(begun.entries)
        except BaseException:
            ledger.discard_if_empty()  # nothing was stored, so nothing is left lying about
            ledger.close()
            raise
        return cls(ledger, begun.state), Step(begun.entries, tuple(lines))

    @classmethod
    def resume(
        cls,
        folder: Path,
        setup: Setup,
        at_us: int,
        same_gauge: str | None,
        refuge: Path | None = None,
    ) -> tuple[Self, Step]:
        """Carry on an open session; raises Refused("session-closed") for a closed one."""
        ledger, found, torn_file = Ledger.open(folder, refuge)
        try:
            state = replay(found, folder)
            refuse_closed(state, folder)
            manager = cls(ledger, state)
            resumed = resume(
                state,
                setup,
                at_us,
                same_gauge=same_gauge,
                torn_bytes=len(found.torn),
                torn_file=torn_file,
            )
            return manager, manager._store(resumed)
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

    def submit(self, command: Command, at_us: int, by: str = "") -> Step:
        """Take a command in; raises Refused, and then nothing has happened. `by`: where an
        operator's word came from.
        """
        return self._store(decide(self.state, command, at_us, by))

    def _store(self, advance: Advance) -> Step:
        """Put what happened on the disk; only then is it so."""
        if not advance.entries:
            return Step((), ())
        if self._is_torn:
            raise LedgerNotWritten(self.folder, "an earlier write failed")
        self._is_torn = True  # an interrupt may tear this apart, and then nobody knows what is so
        lines = self._ledger.append(advance.entries)
        self.state = advance.state
        self._is_torn = False
        return Step(advance.entries, tuple(lines))

    def confirm(self) -> None:
        """Raises LedgerTaken unless the ledger on the disk is still the one written here."""
        self._ledger.confirm()

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
