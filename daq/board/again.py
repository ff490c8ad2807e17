"""What must be measured again since no check can prove it any more: where, why and from where on,
in words. Pure.
"""

from collections.abc import Mapping, Sequence

from daq.lengths import Position
from daq.record.state import State, Status, status
from daq.rules.interval import place_words

_AFTER = {
    "power-loss": "Cable back",
    "age": "The last check is too old",
    "swapped": "Another gauge",
    "stack": "Another stack",
    "temperature": "Another temperature",
    "over": "Zero set again",
}
"""Why a new beginning was needed, by the cause that the record has."""

MOST_NAMED = 3
"""So many journals are named, if they do not follow one another on the route."""


def again_places(state: State, fates: Mapping[str, Mapping[int, str]]) -> tuple[Position, ...]:
    """The places whose reading no check can prove any more, in route order; `fates` by journal and
    line.
    """
    lines = {line for each in fates.values() for line, fated in each.items() if fated == "tainted"}
    if not lines:
        return ()
    standing = state.standing
    return tuple(
        place for place in state.scope.route if place in standing and standing[place].seq in lines
    )


def again_words(state: State, places: Sequence[Position]) -> str:
    """How many readings must be taken again, why and from where on; empty where none must."""
    if not places or status(state) is Status.CLOSED:
        return ""
    count = len(places)
    cause = _cause(state, places)
    if cause == "check-failed":
        what = f"These {count} readings" if count > 1 else "This reading"
        return f"{_failed(state)}. {what} must be taken again: {_where(state, places)}."
    what = f"{count} readings" if count > 1 else "1 reading"
    why = f"{_AFTER[cause]}. " if cause in _AFTER else ""
    return f"{why}{what} must be taken again, start at {place_words(places[0])}."


def _cause(state: State, places: Sequence[Position]) -> str:
    """Why the last of the stints ended in which these were read, by the one that followed it."""
    last = max(state.standing[place].stint for place in places)
    if last < len(state.stints):
        return state.stints[last].cause
    return "check-failed" if state.judged and not state.judged[-1].event.passed else ""


def _failed(state: State) -> str:
    """What the last check that failed after measuring says of the gauge."""
    failed = [
        each.event
        for each in state.judged
        if not each.event.passed and each.event.phase != "before"
    ]
    return "The gauge moved" if failed and "drift" in failed[-1].reason else "The check failed"


def _where(state: State, places: Sequence[Position]) -> str:
    """The journals of these places, as a person says them."""
    named = list(dict.fromkeys(place.journal for place in places))
    if len(named) == 1:
        start = place_words(places[0])
        return f"{named[0]}, start at {start}" if len(places) > 1 else start
    run = list(dict.fromkeys(place.journal for place in state.scope.route))
    first = run.index(named[0])
    if len(named) >= MOST_NAMED and run[first : first + len(named)] == named:
        return f"{named[0]} … {named[-1]}"
    more = len(named) - MOST_NAMED
    return ", ".join(named[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
