"""A hand needs time from one press to the next: what comes sooner is doubted. Pure.

Nobody moves a gauge to another place, or lifts it off a stack and sets it down again, within the
plan's least intervals. So what comes sooner is a second press, a contact that bounced, or a gauge
that sends by itself.
"""

from daq.lengths import Position
from daq.record.state import Arrival, State, is_soon, least_interval_us, soon_in_row
from daq.rules.commands import Why

MOST_SOON = 5
"""So many in a row that come too soon are no hand's doing: the gauge sends by itself."""

UNASKED = "nobody pressed for it: a press here is what asks this gauge"
"""Why a reading is doubted that a gauge which is asked sent unasked."""

STREAMS = (
    "a gauge that sends by itself, without end, is measured with --continuous, where a press takes "
    "one reading"
)
"""What to do with such a gauge, in words."""


def too_soon(state: State, channel: str | None, at_us: int) -> list[str]:
    """Why a reading of `channel` at `at_us` is doubted for coming so soon; empty if it is not."""
    if not is_soon(state, channel, at_us):
        return []
    last = state.arrivals[channel]
    question = soon_words(at_us, last, least_interval_us(state))
    return [question, *stream_words(soon_in_row(state, channel, at_us))]


def soon_words(at_us: int, last: Arrival, least_us: int) -> str:
    """The question about a reading at `at_us`, too soon after `last`."""
    gap = seconds(at_us - last.at_us, least_us)
    return f"that came {gap} after {place_words(last.of)}: pressed twice?"


def is_soon_question(reason: str) -> bool:
    """A reason for which a reading is held is what `soon_words` says, and no more than that."""
    return reason.startswith("that came ") and reason.endswith(": pressed twice?")


def stream_words(soon: int) -> list[str]:
    """What `soon` readings in a row that came too soon look like, once they are many."""
    return [f"{soon} in a row came too soon: {STREAMS}"] if soon >= MOST_SOON else []


def early_words(of: Position | str | None, why: Why) -> str:
    """Why a reading cannot count whose moment lies before `of` was asked for, and what to do where
    no press is missing.
    """
    asked_for = f"{place_words(of)} was asked for"
    if why == "rested":
        return f"it rested there before {asked_for}: take the gauge off, then measure that"
    return f"it came before {asked_for}"


def place_words(of: Position | str | None) -> str:
    """What the reading before was of."""
    if isinstance(of, Position):
        return of.spoken
    return of or "the reading before"


def seconds(gap_us: int, least_us: int) -> str:
    """A time under `least_us`, for people: in tenths, where that does not round it up to the limit,
    else in as few digits as tell it from that.
    """
    tenths = (gap_us + 50_000) // 100_000
    if not tenths:
        return "less than 0.1 s"
    if tenths * 100_000 < least_us:
        return f"{tenths // 10}.{tenths % 10} s"
    return f"{gap_us // 1000} ms"
