"""What a person is told of a session: the prompt, the progress, the news of one step. Pure."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import assert_never

from daq.board.board import Asked
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
from daq.record.state import (
    State,
    Status,
    next_position,
    phase,
    sent_mm,
    sent_mm_or_zero,
    status,
)

PHASES = {
    "before": "Check before measuring",
    "during": "Check in between",
    "after": "Check after measuring",
}


TYPE_IT = "type the value, then Enter"
"""What is to be done where a person reads the gauge."""


def prompt(state: State) -> Asked:
    """What the operator is to do next."""
    now = status(state)
    if state.link_lost and now is not Status.CLOSED:
        source = state.setup.source
        if "://" in source.device:
            return Asked(f"Waiting for gauge {source.gauge}", "it is looked for again and again")
        where = "in any socket" if source.serial else "where it was"
        device = "" if source.gauge == source.device else f" ({source.device})"
        return Asked(f"Waiting for gauge {source.gauge}{device}", f"plug it in again, {where}")
    if now is Status.CLOSED:
        assert state.closed is not None
        return Asked(f"Session {state.closed.verdict}", "")
    if now is Status.OVER:
        return Asked("Session stays open", "resume it to measure the rest")
    if state.held is not None:
        sent = state.held.event.sent
        return Asked(
            f"Held: {value_words(sent)}",
            f"{_sentence(state.held.event.reasons)} Type keep or drop",
        )
    what = phase(state)
    if what is not None:
        assert state.stint is not None
        done = len(state.check.readings) if state.check else 0
        return Asked(
            f"{PHASES[what]}: stack {state.stint.size}",
            f"reading {done + 1} of {state.plan.check.readings}: {_do(state, ' on the stack')}",
        )
    position = next_position(state)
    assert position is not None
    place, total = state.scope.route.index(position) + 1, len(state.scope.route)
    return Asked(
        f"{position.journal}  {position.station}  {position.angle_deg}°{_repeat(state, position)}",
        f"place {place} of {total}: {_do(state)}",
    )


def _do(state: State, where: str = "") -> str:
    return TYPE_IT if is_by_hand(state.setup) else f"press send{where}"


def _repeat(state: State, position: Position) -> str:
    if state.plan.study is not None:
        return f"  {turn_words(state.plan.study, position.repeat)}"
    repeats = state.scope.journals[position.journal].repeats
    return f"  repeat {position.repeat} of {repeats}" if repeats > 1 else ""


def _place_words(state: State, position: Position) -> str:
    """A place as it is said of a reading: in a study with who measured it."""
    study = state.plan.study
    if study is None:
        return str(position)
    return f"{position} ({turn_words(study, position.repeat)})"


def progress(state: State) -> tuple[int, int]:
    """Places done (measured or skipped) and places on the route of this run."""
    done = sum(p in state.standing or p in state.skips for p in state.scope.route)
    return done, len(state.scope.route)


def value_words(sent: Sent) -> str:
    """A sent value with its unit, as the gauge showed it."""
    return f"{sent.value} {sent.unit}".rstrip()


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
    for entry in entries:
        words = _of(entry, after)
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


def _of(entry: Entry, state: State) -> str:
    match entry.event:
        case StintBegan() as event:
            if event.cause == "first":
                return f"Stint 1: the gauge is proven on a stack of {event.stack_size} first."
            return (
                f"Stint {event.stint} begins ({event.why}): the gauge is proven on a stack of "
                f"{event.stack_size} first."
            )
        case CheckRead() as event:
            return f"Stack: {value_words(event.sent)}"
        case CheckJudged() as event:
            word = "passed" if event.passed else "FAILED"
            return f"{PHASES[event.phase]} {word}: {event.reason}."
        case Read() as event:
            return f"{_place_words(state, event.place)}: {value_words(event.sent)}"
        case Held() as event:
            return f"Held: {value_words(event.sent)}: {_sentence(event.reasons)}"
        case Kept():
            return "Kept."
        case Dropped() as event:
            many = f" ({event.count} in a row)" if event.count > 1 else ""
            return f"Not used{many}: {event.why}."
        case Voided() as event:
            return f"Line {event.target} taken back ({event.why}); it stays in the ledger."
        case Skipped() as event:
            return f"Skipped {event.place}: {event.reason}"
        case Noted() as event:
            words = {"note": "Noted", "link": "The link"}.get(event.about)
            return f"{words}: {event.text}" if words else ""
        case Zeroed() as event:
            return (
                f"The gauge was re-zeroed ({event.why}): readings since the last passed check are "
                "not proven and are asked for again."
            )
        case Rejected() as event:
            many = f" ({event.count} in a row)" if event.count > 1 else ""
            if is_by_hand(state.setup):
                return f"{event.detail}{many}."
            return f"No reading, {event.code}{many}: {event.detail}"
        case LinkLost() as event:
            return f"The link is lost: {event.reason}"
        case LinkBack():
            return "The gauge is back."
        case Resumed() as event:
            if event.torn_bytes:
                return (
                    f"The ledger ended in a half line of {event.torn_bytes} bytes; it was never "
                    f"acknowledged and lies in {event.torn_file}."
                )
            return ""
        case Opened() | Closed():
            return ""  # the prompt says it
        case _:
            assert_never(entry.event)


def _sentence(reasons: Sequence[str]) -> str:
    """Reasons with one end mark: some are questions."""
    words = "; ".join(reasons)
    return words if words.endswith("?") else f"{words}."


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
        said.append(f"{taken.position}: {words}. To take the same place again, type back.")
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
