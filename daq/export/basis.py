"""What the tables of a session are made of. Pure."""

from collections.abc import Sequence
from functools import cached_property

import msgspec

from daq.evaluation.journals import Judged
from daq.evaluation.verdict import OPEN, groups, judged, reasons
from daq.record.events import Entry
from daq.record.results import GroupResult, JournalResult
from daq.record.state import State


class Basis(msgspec.Struct, frozen=True, dict=True):
    """A session, the verdict that its rows name, the lines of its ledger and the last digest of
    them. What several tables tell is worked out once, and only if it is asked for.
    """

    state: State
    verdict: str
    entries: Sequence[Entry] = ()
    chain: str = ""

    @cached_property
    def _judged(self) -> tuple[Judged, ...]:
        return judged(self.state)

    @cached_property
    def journals(self) -> tuple[JournalResult, ...]:
        """The journals as the closing line has them, while there is none as they are judged now."""
        closed = self.state.closed
        return closed.journals if closed else tuple(each.result for each in self._judged)

    @cached_property
    def groups(self) -> tuple[GroupResult, ...]:
        """The groups, likewise."""
        closed = self.state.closed
        return closed.groups if closed else groups(self.state, self._judged)

    @cached_property
    def reasons(self) -> tuple[str, ...]:
        """The reasons of the verdict, likewise."""
        closed = self.state.closed
        return closed.reasons if closed else tuple(reasons(self.state, OPEN, (), self._judged))
