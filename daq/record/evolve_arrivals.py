"""How a line changes what is known of the last readings that came, by their channels. Pure."""

import msgspec

from daq.lengths import Position
from daq.record.events import CheckRead, Dropped, Entry, Held, Kept, Noted, Read, Rejected, Voided
from daq.record.state import STACK, Arrival, State, is_soon, soon_in_row, target


def arrivals_with(state: State, entry: Entry) -> dict[str | None, Arrival]:
    """The last readings by channel, with what this line tells of one, whatever became of that.

    One that is held for coming too soon is of what the one before was of, for all that anybody
    knows, until it is kept.
    """
    held = state.held
    match entry.event:
        case Read(sent=sent, place=place):
            return _with_arrival(state, sent.channel, entry.at_us, place)
        case Voided() | Noted() | Rejected():  # of the rest the commonest
            return state.arrivals
        case CheckRead(sent=sent):
            return _with_arrival(state, sent.channel, entry.at_us, STACK)
        case Held(sent=sent):
            of = _unsure_of(state, sent.channel, entry.at_us)
            return _with_arrival(state, sent.channel, entry.at_us, of)
        case Dropped(count=count, channel=channel) if count > 1:
            of = _unsure_of(state, channel, entry.at_us, count)
            return _with_arrival(state, channel, entry.at_us, of, count)
        case Kept() if held is not None:
            channel = held.event.sent.channel
            last = state.arrivals.get(channel)
            if last is None or last.at_us != held.at_us:
                return state.arrivals  # others have come since
            kept = msgspec.structs.replace(last, of=target(state))
            return state.arrivals | {channel: kept}
        case _:
            return state.arrivals


def _with_arrival(
    state: State, channel: str | None, at_us: int, of: Position | str | None, count: int = 1
) -> dict[str | None, Arrival]:
    """With `count` readings of a channel, the last of which came at `at_us`."""
    arrived = Arrival(at_us, of, soon_in_row(state, channel, at_us, count))
    return state.arrivals | {channel: arrived}


def _unsure_of(
    state: State, channel: str | None, at_us: int, count: int = 1
) -> Position | str | None:
    """What a reading that is not believed is taken to be of."""
    if is_soon(state, channel, at_us, count):
        return state.arrivals[channel].of
    return target(state)
