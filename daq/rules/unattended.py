"""What happens by itself when nobody is at a keyboard: the send button drives everything. Pure."""

from collections.abc import Sequence

from daq.record.events import CheckJudged, Entry, StintBegan
from daq.record.state import State, next_position, phase
from daq.rules.commands import Abandon, Command, Drop, GiveUp
from daq.rules.interval import MOST_SOON, STREAMS

MOST_DROPS = 10
"""So many held readings in a row at one place end the session."""


def unattended(state: State, news: Sequence[Entry]) -> Command | None:
    """The command that stands in for the operator after `news`; None: nothing is to be done."""
    if state.closed is not None:
        return None
    if state.held is not None:
        return Drop(why="held, and nobody is at a keyboard to ask")
    if state.drops_in_row >= MOST_DROPS:
        where = "the stack" if phase(state) else next_position(state)
        said = f"{MOST_DROPS} held readings in a row at {where}"
        return Abandon(f"{said}; {STREAMS}" if _is_stream(state) else said)
    for entry in news:
        event = entry.event
        if isinstance(event, CheckJudged) and not event.passed:
            return GiveUp(f"the {event.phase} check failed, and nobody was at a keyboard")
        if isinstance(event, StintBegan) and event.cause == "age":
            return GiveUp(event.why)
    return None


def _is_stream(state: State) -> bool:
    """The readings that came last came too soon for a hand."""
    last = max(state.arrivals.values(), key=lambda each: each.at_us, default=None)
    return last is not None and last.soon >= MOST_SOON
