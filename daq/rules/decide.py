"""What a command leads to: events and the next state, or a refusal. Pure; the table says what each
status allows.
"""

from typing import assert_never

import msgspec
from msgspec.structs import replace

from daq.errors import Refused
from daq.evaluation.verdict import ABANDONED, REJECTED, close, stint_age_fault
from daq.record.advance import Advance
from daq.record.events import (
    CheckRead,
    CheckTag,
    Dropped,
    Held,
    Kept,
    LinkLost,
    Noted,
    Read,
    Rejected,
    Sent,
    Skipped,
    Voided,
    Zeroed,
)
from daq.record.evolve import end_stint
from daq.record.state import (
    State,
    Status,
    check_in,
    find_position,
    held_in,
    is_part_done,
    is_served,
    last_taken,
    next_position,
    phase,
    place_in,
    sent_mm,
    soon_in_row,
    status,
    stint_in,
)
from daq.rules import commands as ask
from daq.rules.checks import coarse_gauge, judged_event
from daq.rules.interval import UNASKED, stream_words, too_soon
from daq.rules.plausibility import (
    HELD_BUTTON,
    doubts_about,
    looks_like_deviation,
    other_device,
    sent,
    zero_lost,
)
from daq.rules.press_again import PRESSED_AGAIN, why_no_answer
from daq.rules.steps import told_step_fault
from daq.rules.stints import begin_stint, plugged_in_again
from drivers.reading import LATE, Reading

_W, _M, _C, _E = Status.WAITING, Status.MEASURING, Status.CHECKING, Status.CLOSING
_A, _O = Status.ASKING, Status.OVER

ALLOWED: dict[type[ask.Command], frozenset[Status]] = {
    ask.TakeReading: frozenset({_W, _M, _C, _E, _A, _O}),
    ask.SetAside: frozenset({_W, _M, _C, _E, _A, _O}),
    ask.TakeReject: frozenset({_W, _M, _C, _E, _A, _O}),
    ask.Back: frozenset({_W, _M, _C, _E}),
    ask.Retake: frozenset({_M, _C, _E}),
    ask.Skip: frozenset({_M}),
    ask.Note: frozenset({_W, _M, _C, _E, _A, _O}),
    ask.Keep: frozenset({_A}),
    ask.Drop: frozenset({_A}),
    ask.CheckNow: frozenset({_M}),
    ask.GaugeZeroed: frozenset({_W, _M, _C, _E}),
    ask.StopHere: frozenset({_W, _M, _C, _E, _O}),
    ask.Later: frozenset({_W, _M, _C, _E}),
    ask.Abandon: frozenset({_W, _M, _C, _E, _A, _O}),
    ask.GiveUp: frozenset({_W, _M, _C, _E, _A, _O}),
    ask.TimePassed: frozenset({_W, _M, _C, _E, _A, _O}),
    ask.LoseLink: frozenset({_W, _M, _C, _E, _A, _O}),
    ask.FindLink: frozenset({_W, _M, _C, _E, _A, _O}),
    ask.LinkNote: frozenset({_W, _M, _C, _E, _A, _O}),
    ask.HistoryNote: frozenset({_W, _M, _C, _E, _A, _O}),
}
"""Which command each status allows: the one table behind the program, its tests and its guide."""

_WHY_NOT: dict[Status, str] = {
    Status.WAITING: "the gauge is not checked yet: read the stack first",
    Status.MEASURING: "no reading is in question",
    Status.CHECKING: "a check is under way: read the stack first",
    Status.CLOSING: "the closing check is due: read the stack",
    Status.ASKING: "a reading is in question: type keep or drop first",
    Status.OVER: "nothing is being measured: resume the session",
    Status.CLOSED: "the session is closed, and a closed session is final",
}


def allowed_words(state: State) -> list[str]:
    """The operator's words that are understood now."""
    now = status(state)
    return [word for word, command in ask.BY_WORD.items() if now in ALLOWED[command]]


def decide(state: State, command: ask.Command, at_us: int, by: str = "") -> Advance:
    """The events that `command` leads to at `at_us`, and the state behind them; raises Refused with
    the reason, and then nothing has happened. `by`: where an operator's word came from.
    """
    now = status(state)
    if now not in ALLOWED[type(command)]:
        raise Refused(f"not-while-{now.value}", _refusal(command, now))
    led_to = _led_to(Advance(state, at_us), command)
    return settle(_marked(led_to, by) if by else led_to)


def _marked(led_to: Advance, by: str) -> Advance:
    """The same, each line that can tell it with where the word for it came from. No state holds
    these lines, so nothing is to be folded again.
    """
    entries = tuple(
        replace(entry, event=replace(entry.event, by=by))
        if isinstance(entry.event, Kept | Dropped | Voided | Skipped | Noted | Zeroed)
        else entry
        for entry in led_to.entries
    )
    return Advance(led_to.state, led_to.at_us, entries)


def _led_to(now: Advance, command: ask.Command) -> Advance:
    """What the command itself leads to, before what follows from it."""
    match command:
        case ask.TakeReading(reading=reading, why=why):
            return _take_reading(now, reading, why)
        case ask.SetAside():
            return _set_many_aside(now, command)
        case ask.TakeReject():
            return now.by(_rejected(command))
        case ask.Back():
            return now.by(Voided(target=_last_line(now.state), why="back"))
        case ask.Retake(text=text):
            return now.by(Voided(target=_line_at(now.state, text), why="retake"))
        case ask.Skip(reason=reason):
            return _skip(now, reason)
        case ask.Note(text=text):
            return now.by(Noted(about="note", text=text))
        case ask.Keep():
            return _keep(now)
        case ask.Drop(why=why):
            return now.by(Dropped(held=held_in(now.state).seq, why=why))
        case ask.CheckNow():
            return now.by(Noted(about="check", text=""))
        case ask.GaugeZeroed():
            return now.by(Zeroed(stint=stint_in(now.state).event.stint, why="operator"))
        case ask.StopHere(reason=reason):
            return _stop(now, reason)
        case ask.Later():
            return now.by(Noted(about="later", text=""))
        case ask.Abandon(reason=reason):
            return _close_now(now, ABANDONED, f"abandoned: {reason}")
        case ask.GiveUp(reason=reason):
            return _close_now(now, REJECTED, reason)
        case ask.TimePassed():
            return _time_passed(now)
        case ask.LoseLink(reason=reason):
            return now.by(LinkLost(reason=reason))
        case ask.FindLink(source=source):
            return plugged_in_again(now, source)
        case ask.LinkNote(text=text):
            return now.by(Noted(about="link", text=text))
        case ask.HistoryNote(text=text):
            return now.by(Noted(about="despite-history", text=text))
        case _:
            assert_never(command)


def settle(now: Advance) -> Advance:
    """What follows by itself: the next stint where one is due, the closing line at the end."""
    state = now.state
    if state.closed is not None or state.held is not None:
        return now
    stint = state.stint
    following = next_position(state)
    if stint is None or stint.is_over:
        if state.ending == "later":
            return now
        if state.ending == "stop" or (following is None and is_part_done(state)):
            said = [f"stopped: {state.ending_reason}"] if state.ending == "stop" else []
            return now.by(close(state, said=said))
        if following is None:
            return now
        return begin_stint(now, *_why_new(state))
    if stint.before is None and following is not None and not is_served(state, following):
        return begin_stint(now, "stack", f"{following.spoken} needs another stack")
    return now


def _why_new(state: State) -> tuple[str, str]:
    if state.stint is None:
        return "first", "the session begins"
    if state.judged and not state.judged[-1].event.passed:
        return "check-failed", "the last check failed"
    return "over", "the check after is done"


def _refusal(command: ask.Command, now: Status) -> str:
    if isinstance(command, ask.CheckNow) and now in (Status.WAITING, Status.CLOSING):
        return "a check is due already: read the stack"
    if isinstance(command, ask.Keep | ask.Drop) and now is not Status.CLOSED:
        return "no reading is in question, so there is nothing to keep or drop"
    return _WHY_NOT[now]


# Readings ----------------------------------------------------------------------------------------


def _take_reading(now: Advance, reading: Reading, came: ask.Why) -> Advance:
    state, what = now.state, sent(reading)
    standing = status(state)
    if standing is Status.ASKING:
        return _while_asking(now, reading, what, came)
    if standing is Status.OVER:
        return _set_aside(now, what, "nothing was being measured")
    stint = stint_in(state)
    new_flags = zero_lost(state, what.flags)
    if new_flags:
        why = f"the gauge says {', '.join(new_flags)}"
        return _set_aside(now, what, why).by(Zeroed(stint=stint.event.stint, why=why))
    too_old = stint_age_fault(state, now.at_us)
    if too_old and standing is Status.MEASURING:
        return begin_stint(_set_aside(now, what, too_old), "age", too_old)
    hasty = _hasty(now, what, came)
    # A press that came too soon after an equal one is one doubt, and one question.
    others = (each for each in doubts_about(state, what) if not (hasty and each == HELD_BUTTON))
    doubts = [*hasty, *others]
    if doubts:
        return now.by(Held(stint=stint.event.stint, reasons=tuple(doubts), sent=what))
    fault = told_step_fault(state, what)
    if fault:
        return _set_aside(now, what, fault)
    return _count(now, what, phase(state))


def _while_asking(now: Advance, reading: Reading, what: Sent, came: ask.Why) -> Advance:
    """A reading while a question waits: it answers that and counts itself, or is set aside."""
    why = why_no_answer(now.state, what, came, now.at_us)
    if why:
        return _set_many_aside(now, ask.SetAside(reading, why))
    answered = now.by(Dropped(held=held_in(now.state).seq, why=PRESSED_AGAIN))
    return _count(answered, what, phase(answered.state))


def _hasty(now: Advance, what: Sent, came: ask.Why) -> list[str]:
    """Why a reading is doubted for when and how it came. Of presses here the interval was watched
    when they were made; a value that rests has moved before; what is typed comes as fast as it
    likes.
    """
    if came not in ("sent", "unasked"):
        return []
    said = too_soon(now.state, what.channel, now.at_us)
    # An answer that comes late is said to be that: it was pressed for once.
    return [*said, UNASKED] if came == "unasked" and LATE not in what.flags else said


def _set_many_aside(now: Advance, command: ask.SetAside) -> Advance:
    """Readings that cannot count, one as its own lines, several as one."""
    last = command.last or command.reading
    said = [
        command.why,
        *stream_words(soon_in_row(now.state, last.channel, now.at_us, command.count)),
    ]
    why = "; ".join(said)
    if command.count == 1:
        return _set_aside(now, sent(command.reading), why)
    return now.by(
        Dropped(
            held=0,
            why=why,
            count=command.count,
            raw_hex=command.reading.raw.hex(),
            last_raw_hex=last.raw.hex(),
            channel=last.channel,
        )
    )


def _set_aside(now: Advance, what: Sent, why: str) -> Advance:
    """Record a reading that cannot count: held and dropped at once, so that nothing is lost."""
    stint = now.state.stint
    held = now.by(Held(stint=stint.event.stint if stint else 0, reasons=(why,), sent=what))
    return held.by(Dropped(held=held.state.last_seq, why=why))


def _count(now: Advance, what: Sent, what_phase: str | None, held: int | None = None) -> Advance:
    """A believed reading: of the check that is due (`what_phase`), else at the place asked for.
    `held` is the line of the held reading that it is, if it was one.
    """
    if what_phase is None:
        return _count_on_part(now, what, held)
    return _count_on_stack(now, what, what_phase, held)


def _count_on_part(now: Advance, what: Sent, held: int | None) -> Advance:
    state = now.state
    number = stint_in(state).event.stint
    position = place_in(state)
    stale = state.standing.get(position)
    if stale is not None:
        now = now.by(Voided(target=stale.seq, why="measured again after a new check"))
    if held is None:
        return now.by(Read(stint=number, place=position, sent=what))
    return now.by(Kept(held=held, stint=number, place=position))


def _count_on_stack(now: Advance, what: Sent, what_phase: str, held: int | None) -> Advance:
    state = now.state
    number = stint_in(state).event.stint
    run = state.check
    check_no = run.check_no if run is not None else state.check_no + 1
    now = now.by(
        CheckRead(stint=number, check_no=check_no, phase=what_phase, sent=what)
        if held is None
        else Kept(held=held, stint=number, check=CheckTag(check_no, what_phase))
    )
    fault = coarse_gauge(now.state)  # in each check: a resume may have widened the work
    if fault:
        return now.by(close(now.state, REJECTED, [fault]))
    if len(check_in(now.state).readings) < state.plan.check.readings:
        return now
    return _judge(now, is_final=is_part_done(now.state))


def _judge(now: Advance, *, is_final: bool) -> Advance:
    """Judge the check whose last reading just came; `is_final`: nothing is left to measure
    of the whole part."""
    state, run = now.state, check_in(now.state)
    event = judged_event(state, now.at_us)
    now = now.by(event)
    is_closing = run.phase == "after" and (is_final or state.ending == "stop")
    if is_closing and not event.passed and state.ending != "later":
        said = [f"stopped: {state.ending_reason}"] if state.ending == "stop" else []
        return now.by(close(now.state, REJECTED, said))
    return now


def _rejected(command: ask.TakeReject) -> Rejected:
    reject = command.reject
    return Rejected(
        code=reject.code,
        detail=reject.detail,
        raw_hex=reject.raw.hex(),
        skipped=reject.skipped,
        flags=reject.flags,
        count=command.count,
        last_raw_hex=command.last_raw.hex(),
    )


# The operator's words ----------------------------------------------------------------------------


def _last_line(state: State) -> int:
    """The line of what `back` takes back: a reading of the check under way, else the latest reading
    or skip.
    """
    if state.check is not None and state.check.readings:
        return state.check.readings[-1].seq
    if status(state) is Status.WAITING:
        raise Refused("nothing-to-take-back", "this check has no reading yet to take back")
    taken = last_taken(state)
    skipped = max(state.skips.values(), default=0)
    target = max(taken.seq if taken else 0, skipped)
    if not target:
        raise Refused("nothing-to-take-back", "there is no reading yet to take back")
    return target


def _line_at(state: State, text: str) -> int:
    """The line of the reading or skip at a place."""
    position = find_position(state, text)
    if position in state.skips:
        return state.skips[position]
    taken = state.standing.get(position)
    if taken is None:
        why = f"{position.spoken} has no reading yet; the route comes to it"
        raise Refused("not-measured-yet", why)
    return taken.seq


def _skip(now: Advance, reason: str) -> Advance:
    position = place_in(now.state)
    stale = now.state.standing.get(position)
    if stale is not None:
        now = now.by(Voided(target=stale.seq, why="skipped after a new check"))
    return now.by(Skipped(place=position, reason=reason))


def _keep(now: Advance) -> Advance:
    held = held_in(now.state)
    what = held.event.sent
    free = msgspec.structs.replace(now.state, held=None)  # as it is but for the question
    stint = free.stint
    if stint is None or stint.is_over:
        return now.by(Dropped(held=held.seq, why="the gauge must be checked again first"))
    if sent_mm(what) is None:
        why = "its unit is not a length, so it cannot count"
        return now.by(Dropped(held=held.seq, why=why))
    if looks_like_deviation(free, what):
        why = "a gauge that sends a deviation cannot be used here"
        return now.by(Dropped(held=held.seq, why=why))
    swapped = other_device(what, free)
    if swapped:
        why = f"the gauge was swapped: {swapped}"
        return begin_stint(now.by(Dropped(held=held.seq, why=why)), "swapped", why)
    return _count(now, what, phase(free), held.seq)


def _stop(now: Advance, reason: str) -> Advance:
    noted = now.by(Noted(about="stop", text=reason))
    if status(now.state) in (Status.WAITING, Status.OVER):
        # Nothing is left that a closing check could prove.
        return noted.by(close(noted.state, said=[f"stopped: {reason}"]))
    return noted


def _close_now(now: Advance, verdict: str, said: str) -> Advance:
    held = now.state.held
    if held is not None:
        now = now.by(Dropped(held=held.seq, why="the session was closed"))
    return now.by(close(end_stint(now.state), verdict, [said]))


def _time_passed(now: Advance) -> Advance:
    fault = stint_age_fault(now.state, now.at_us)
    if fault and status(now.state) is Status.MEASURING:
        return begin_stint(now, "age", fault)
    return now
