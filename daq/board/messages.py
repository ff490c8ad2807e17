"""What a person is told of a session: the news of one step. Pure."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import assert_never

from daq.board.asked import PHASES, sentence, value_words
from daq.board.warnings import failed_words, lost_words
from daq.evaluation.inputs import SessionFacts, conditions_of
from daq.lengths import EXACT, MM_PER, Length, Position, inward, mean_text, plain, shortest
from daq.plan.plan import JournalPlan
from daq.plan.turns import turn_words
from daq.record.events import (
    CheckJudged,
    CheckRead,
    Closed,
    Dropped,
    Entry,
    Held,
    Kept,
    LinkBack,
    LinkLost,
    Noted,
    Opened,
    Read,
    Rejected,
    Resumed,
    Sent,
    Skipped,
    StintBegan,
    Voided,
    Zeroed,
    is_by_hand,
)
from daq.record.standing import PartReading
from daq.record.state import State, next_position, sent_mm, sent_mm_or_zero
from daq.rules.interval import place_words
from daq.rules.press_again import PRESSED_AGAIN


def _place_words(state: State, position: Position) -> str:
    """A place as it is said of a reading: in a study with who measured it."""
    study = state.plan.study
    if study is None:
        return place_words(position)
    return f"{place_words(position)} ({turn_words(study, position.repeat)})"


def limit_words(limit: Length, unit: str, resolution: str, *, is_low: bool) -> str:
    """A limit as the maker states it, and in the gauge's unit rounded inward where that differs.

    The mark says that it was rounded; comparisons never use the rounded one.
    """
    if unit == limit.unit or unit not in MM_PER:
        return str(limit)
    shown, was_rounded = inward(limit.mm, unit, Decimal(resolution), is_low=is_low)
    mark = " rounded inward" if was_rounded else ""
    return f"{limit} = {plain(shown)} {unit}{mark}"


def news(
    before: State,
    entries: Sequence[Entry],
    after: State,
    confirmed: Mapping[str, str],
    about: SessionFacts | None = None,
) -> list[str]:
    """What to say of the lines just stored, one sentence each; `confirmed` has the words for each
    journal, by name, that they showed to be below its low limit for certain. `about` is
    `known(after)`, if it is at hand.
    """
    said = []
    dropped = {entry.event.held for entry in entries if isinstance(entry.event, Dropped)}
    for entry in entries:
        if isinstance(entry.event, Held) and entry.seq in dropped:
            continue  # held and dropped at once: told as not used, with the same reason
        words = _of(entry, before, after)
        if words:
            said.append(words)
        if isinstance(entry.event, Read | Kept):
            said.extend(_limit_news(entry, after, confirmed, about))
            said.extend(_turn_news(before, after))
    return said


def _turn_news(before: State, state: State) -> list[str]:
    """In a study: that somebody else is to measure now."""
    study = state.plan.study
    last, following = next_position(before), next_position(state)
    if study is None or last is None or following is None or last.repeat == following.repeat:
        return []
    return [f"Now {turn_words(study, following.repeat)}."]


_SAID_ALREADY = ("first", "over", "check-failed")
"""Causes of a new beginning that the line before has told, or that need no telling: the prompt says
that the stack is due."""


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _taken_back(before: State, event: Voided) -> str:
    """What was taken back, with its value, and what comes of it."""
    line = event.target
    if event.why not in ("back", "retake"):
        return ""  # measured or skipped in its place just now, which is told
    for taken in reversed(before.readings):
        if taken.seq == line:
            said = f"{place_words(taken.position)} ({value_words(taken.sent)})"
            return f"{said} taken back. Measure it again."
    for check in reversed(before.checks):
        if check.seq == line:
            return f"Stack reading {value_words(check.sent)} taken back. Read the stack again."
    skipped = next((place for place, seq in before.skips.items() if seq == line), None)
    if skipped is None:
        return "Taken back."
    return f"{place_words(skipped)} is on the route again."


def _of(entry: Entry, before: State, state: State) -> str:
    match entry.event:
        case StintBegan() as event:
            return "" if event.cause in _SAID_ALREADY else f"{_capital(event.why)}."
        case CheckRead() as event:
            return f"Stack: {value_words(event.sent)}"
        case CheckJudged() as event:
            if not event.passed:
                return failed_words(state, event)
            return f"{PHASES[event.phase]} passed: {event.reason}."
        case Read() as event:
            return f"{_place_words(state, event.place)}: {value_words(event.sent)}"
        case Held() as event:
            return f"Held: {value_words(event.sent)}: {sentence(event.reasons)}"
        case Kept():
            return "Kept."
        case Dropped() as event:
            if event.why == "operator":
                return "Dropped."
            if event.why == PRESSED_AGAIN:
                return "Pressed again: this one counts, the one before does not."
            many = f" ({event.count} in a row)" if event.count > 1 else ""
            return f"Not used{many}: {event.why}."
        case Voided() as event:
            return _taken_back(before, event)
        case Skipped() as event:
            return f"Skipped {place_words(event.place)}: {event.reason}"
        case Noted() as event:
            words = {"note": "Noted", "link": "The link"}.get(event.about)
            return f"{words}: {event.text}" if words else ""
        case Zeroed() as event:
            return "Zero noted." if event.why == "operator" else f"{_capital(event.why)}."
        case Rejected() as event:
            many = f" ({event.count} in a row)" if event.count > 1 else ""
            if is_by_hand(state.setup):
                return f"{event.detail}{many}."
            return f"No reading, {event.code}{many}: {event.detail}"
        case LinkLost() as event:
            return lost_words(state, event.reason)
        case LinkBack():
            return "The gauge is back."
        case Resumed() as event:
            if event.torn_bytes:
                return (
                    f"The record ended in half a line ({event.torn_bytes} bytes) that was never "
                    f"acknowledged. It is kept in {event.torn_file}."
                )
            return ""
        case Opened() | Closed():
            return ""  # the prompt says it
        case _:
            assert_never(entry.event)


def _limit_news(
    entry: Entry, state: State, confirmed: Mapping[str, str], about: SessionFacts | None
) -> list[str]:
    taken = next((t for t in reversed(state.readings) if _is_of(t.seq, entry)), None)
    if taken is None:
        return []
    journal = state.scope.journals[taken.position.journal]
    said = []
    words = against_limits(journal, taken.sent, estimate_of(state, journal, taken, about))
    if words:
        place = place_words(taken.position)
        said.append(f"{place}: {words}. To take the same place again, type back.")
    below = confirmed.get(journal.name)
    if below:
        said.append(
            f"{below}. Finish the route, or type stop REASON. The maker's manual and a "
            "licensed practice decide; this is evidence, not permission."
        )
    return said


def _is_of(seq: int, entry: Entry) -> bool:
    return seq == (entry.event.held if isinstance(entry.event, Kept) else entry.seq)


def estimate_of(
    state: State, journal: JournalPlan, taken: PartReading, about: SessionFacts | None = None
) -> Fraction:
    """The best estimate of the diameter that one reading alone gives, in mm; `about` is
    `known(state)`, if it is at hand.
    """
    return conditions_of(state, journal, about)(taken).estimate(Fraction(taken.mm))


def against_limits(journal: JournalPlan, sent: Sent, estimate_mm: Fraction) -> str:
    """How a reading lies outside its size limits, in words; empty if it does not.

    What counts is the estimate, as for the verdict.
    """
    limits = journal.limits
    if estimate_mm < limits.low.mm:
        return f"{_off(limits.low, sent, estimate_mm)} under the low limit " + limit_words(
            limits.low, sent.unit, sent.resolution, is_low=True
        )
    if limits.high is not None and estimate_mm > limits.high.mm:
        return f"{_off(limits.high, sent, estimate_mm)} over the high limit " + limit_words(
            limits.high, sent.unit, sent.resolution, is_low=False
        )
    return ""


def _off(limit: Length, sent: Sent, estimate_mm: Fraction) -> str:
    if estimate_mm != sent_mm(sent):
        off = abs(estimate_mm - Fraction(limit.mm))
        return (
            f"{value_words(sent)}, corrected to {mean_text(estimate_mm)} mm, is {mean_text(off)} mm"
        )
    if limit.unit == sent.unit:
        value = EXACT.subtract(Decimal(sent.value), limit.value).copy_abs()
        return f"{value_words(sent)} is {plain(value)} {sent.unit}"
    return (
        f"{value_words(sent)} is "
        f"{shortest(EXACT.subtract(sent_mm_or_zero(sent), limit.mm).copy_abs())} mm"
    )
