"""Events together with the state that they lead to, so that nothing is folded twice. Pure."""

import msgspec

from daq.record.events import AnyEvent, Entry
from daq.record.evolve import evolve
from daq.record.state import State


class Advance(msgspec.Struct, frozen=True):
    """A state, and the entries by which it came about since a command was taken in at `at_us`
    (microseconds UTC). What a rule adds is numbered and folded here, once.
    """

    state: State
    at_us: int
    entries: tuple[Entry, ...] = ()

    def by(self, *events: AnyEvent) -> "Advance":
        """Advanced by `events`, in this order."""
        state, entries = self.state, self.entries
        for event in events:
            entry = Entry(state.last_seq + 1, self.at_us, event)
            state, entries = evolve(state, entry), (*entries, entry)
        return Advance(state, self.at_us, entries)
