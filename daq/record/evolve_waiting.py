"""How a line changes which places of the route wait for a reading. Pure."""

import msgspec

from daq.lengths import Position
from daq.record.shared_map import SharedMap
from daq.record.standing import PartReading
from daq.record.state import State, first_unread, waiting_places
from daq.record.waiting import Waiting


def settled(state: State, now: State) -> State:
    """The state after a line with the places that wait again, if it has ended the trust in what was
    read before.

    A check that passes proves it; with one that fails, or a stint that ends, the readings of the
    stint that no check has proven are lost. Those of earlier stints have their fate already.
    """
    if now.scope is not state.scope:
        return _looked_over(now)
    is_judged = now.judged is not state.judged
    is_over = now.over_stints is not state.over_stints
    if not now.is_as_run:
        has_moved = now.standing is not state.standing or now.skips is not state.skips
        if has_moved or is_judged or is_over:
            return _looked_over(now)
    if not (is_judged or is_over):
        return now
    check = now.judged[-1].event if is_judged else None
    if check is not None and check.phase == "before":
        return now
    waits = now.waiting
    if check is None or not check.passed:
        for taken in now.readings.since(now.settled):
            index = now.scope.index.get(taken.position)
            if index is not None and now.standing.get(taken.position) is taken:
                waits = waits.with_again(index)
    return msgspec.structs.replace(now, waiting=waits, settled=len(now.readings))


def _looked_over(state: State) -> State:
    """The state with the places that wait, by looking at all of them."""
    return msgspec.structs.replace(state, waiting=waiting_places(state))


def with_answer(
    state: State,
    index: int | None,
    standing: SharedMap[Position, PartReading],
    skips: SharedMap[Position, int],
) -> Waiting:
    """The places that wait, without one that was read or skipped; its `index` on the route."""
    waits = state.waiting
    if index is None:
        return waits
    if waits.again:
        waits = waits.without_again(index)
    if index != waits.unread_from:
        return waits
    return Waiting(first_unread(state.scope.route, standing, skips, index + 1), waits.again)


def with_question(state: State, place: Position, *, is_skipped: bool) -> Waiting:
    """The places that wait, with one that has lost its reading, or that is not skipped any more."""
    index, waits = state.scope.index.get(place), state.waiting
    if index is None:
        return waits
    if index < waits.unread_from and not is_skipped:
        return waits.with_again(index)
    return waits.without_again(index)  # it waits as one of those without a reading, or not at all
