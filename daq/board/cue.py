"""What a step is to sound like: one cue, from the board before, what was stored, and the board now.
Pure.
"""

from collections.abc import Callable, Sequence

from daq.board.board import Board, JournalRow
from daq.record.events import (
    CheckJudged,
    CheckRead,
    Closed,
    Dropped,
    Entry,
    Held,
    Kept,
    LinkLost,
    Read,
    Rejected,
    StintBegan,
)
from daq.rules.press_again import PRESSED_AGAIN

GAUGE_LOST = "gauge-lost"
CHECK_FAILED = "check-failed"
LOOK = "look"
BELOW = "below"
CHECK_PASSED = "check-passed"
JOURNAL_DONE = "journal-done"
KEPT = "kept"
SILENCE = ""

CUES = (GAUGE_LOST, CHECK_FAILED, LOOK, BELOW, CHECK_PASSED, JOURNAL_DONE, KEPT)
"""Every cue, the most urgent first."""

LOOK_EVERY_US = 900_000
"""So soon after one `look` nothing that asks for no answer sounds like it again. Chosen by us: what
is folded comes once a second, and must not fall on the edge."""

_UNASKED_FOR = ("age", "swapped", "power-loss")
"""Causes of a new beginning that no word of the operator's led to."""

_ANSWERS = ("operator", PRESSED_AGAIN)
"""Why a reading was dropped where that was the answer to its question."""

_OPEN = ("to-come", "again")
"""States of a place that waits for a reading."""


def urgency(cue: str) -> int:
    """How urgent a cue is: 1 for the least, 0 for silence and what is no cue."""
    return len(CUES) - CUES.index(cue) if cue in CUES else 0


def cue_of(
    before: Board | None, entries: Sequence[Entry], board: Board, *, is_soon: bool = False
) -> str:
    """The cue of a step, the most urgent of those that apply, in this order:

    - gauge-lost: the port is gone;
    - check-failed: a check was judged so;
    - look: a reading waits for an answer, one was not used, what came was none, something else is
      asked for than a moment ago and nobody typed that, or the session ended on a reading;
    - below: a journal's size verdict has become `below`;
    - check-passed: a check was judged so;
    - journal-done: a reading was counted, and no place of its journal waits any more;
    - kept: a reading of part or stack was counted.

    All else is silent: words that were typed, notes, hints, and the board that a run begins with
    (`before` is None). `is_soon`: `look` sounded a moment ago, so only a question sounds again.
    """
    if before is None:
        return SILENCE
    events = [entry.event for entry in entries]
    judged = [event.passed for event in events if isinstance(event, CheckJudged)]
    is_counted = any(isinstance(event, Read | CheckRead | Kept) for event in events)
    is_ended = any(isinstance(event, Closed) and event.verdict == "rejected" for event in events)
    applies = {
        GAUGE_LOST: any(isinstance(event, LinkLost) for event in events),
        CHECK_FAILED: False in judged,
        LOOK: _is_question(entries)
        or (not is_soon and _is_worth_a_look(entries))
        or (is_ended and is_counted and not judged),
        BELOW: bool(become_below(before, board)),
        CHECK_PASSED: True in judged,
        JOURNAL_DONE: is_counted and bool(become_done(before, board)),
        KEPT: is_counted,
    }
    return next((cue for cue in CUES if applies[cue]), SILENCE)


def become_below(before: Board, board: Board) -> tuple[str, ...]:
    """The journals below their low limit for certain that were not before."""
    return _become(before, board, _is_below)


def become_done(before: Board, board: Board) -> tuple[str, ...]:
    """The journals of which no place waits any more, and one did before."""
    return _become(before, board, _is_done)


def _become(before: Board, board: Board, fits: Callable[[JournalRow], bool]) -> tuple[str, ...]:
    earlier = {row.result.journal: row for row in before.rows}
    return tuple(
        row.result.journal
        for row in board.rows
        if (old := earlier.get(row.result.journal)) is not row
        and old is not None
        and fits(row)
        and not fits(old)
    )


def _is_below(row: JournalRow) -> bool:
    return row.result.size_verdict == "below"


def _is_done(row: JournalRow) -> bool:
    return not any(place.state in _OPEN for place in row.places)


def _is_question(entries: Sequence[Entry]) -> bool:
    """A reading was held that nothing has answered yet."""
    dropped = {entry.event.held for entry in entries if isinstance(entry.event, Dropped)}
    return any(isinstance(entry.event, Held) and entry.seq not in dropped for entry in entries)


def _is_worth_a_look(entries: Sequence[Entry]) -> bool:
    """Something came that did not count, or a new beginning that nobody typed."""
    return any(
        isinstance(entry.event, Rejected)
        or (isinstance(entry.event, Dropped) and entry.event.why not in _ANSWERS)
        or (isinstance(entry.event, StintBegan) and entry.event.cause in _UNASKED_FOR)
        for entry in entries
    )
