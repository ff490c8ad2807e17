"""What a command leads to: events, or a refusal. Pure; the table says what each status allows."""

from collections.abc import Callable
from typing import TypeAlias

from daq.errors import Refused
from daq.evaluation.verdict import ABANDONED, REJECTED, close, stint_age_fault
from daq.lengths import plain
from daq.record.events import (
    AnyEvent,
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
    find_position,
    is_part_done,
    is_served,
    last_taken,
    next_position,
    phase,
    place_of,
    sent_mm,
    status,
)
from daq.rules import commands as ask
from daq.rules.checks import coarse_gauge, judged_event
from daq.rules.plausibility import doubts_about, looks_like_deviation, other_device, zero_lost
from daq.rules.stints import Events, after, begin_stint, plugged_in_again
from drivers.reading import Reading

Rule: TypeAlias = Callable[[State, ask.Command, int], Events]

_W, _M, _C, _E = Status.WAITING, Status.MEASURING, Status.CHECKING, Status.CLOSING

_A, _O, _X = Status.ASKING, Status.OVER, Status.CLOSED

ALLOWED: dict[type[ask.Command], frozenset[Status]] = {
    ask.TakeReading: frozenset({_W, _M, _C, _E, _A, _O}),
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
    Status.WAITING: "the gauge is not proven yet: press send on the stack first",
    Status.MEASURING: "no reading is held",
    Status.CHECKING: "a check is under way: press send on the stack first",
    Status.CLOSING: "the closing check is due: press send on the stack",
    Status.ASKING: "a held reading waits: answer keep or drop first",
    Status.OVER: "no stint is running: resume the session",
    Status.CLOSED: "the session is closed, and a closed session is final",
}


def allowed_words(state: State) -> list[str]:
    """The operator's words that are understood now."""
    now = status(state)
    return [word for word, command in ask.BY_WORD.items() if now in ALLOWED[command]]


def decide(state: State, command: ask.Command, at_us: int) -> Events:
    """The events that `command` leads to at `at_us`; raises Refused with the reason, and then
    nothing has happened.
    """
    now = status(state)
    if now not in ALLOWED[type(command)]:
        raise Refused(f"not-while-{now.value}", _refusal(command, now))
    events = _RULES[type(command)](state, command, at_us)
    return events + settle(after(state, events, at_us), at_us)


def settle(state: State, at_us: int) -> Events:
    """What follows by itself: the next stint where one is due, the closing line at the end."""
    if state.closed is not None or state.held is not None:
        return ()
    stint = state.stint
    following = next_position(state)
    if stint is None or stint.is_over:
        if state.ending == "later":
            return ()
        if state.ending == "stop" or (following is None and is_part_done(state)):
            said = [f"stopped: {state.ending_reason}"] if state.ending == "stop" else []
            return (close(state, said=said),)
        if following is None:
            return ()
        return (begin_stint(state, *_why_new(state)),)
    if stint.before is None and following is not None and not is_served(state, following):
        return (begin_stint(state, "stack", f"{following} needs another stack"),)
    return ()


def _why_new(state: State) -> tuple[str, str]:
    if state.stint is None:
        return "first", "the session begins"
    if state.judged and not state.judged[-1].event.passed:
        return "check-failed", "the last check failed"
    return "over", "the last stint is over"


def _refusal(command: ask.Command, now: Status) -> str:
    if isinstance(command, ask.CheckNow) and now in (Status.WAITING, Status.CLOSING):
        return "a check is due already: press send on the stack"
    if isinstance(command, ask.Keep | ask.Drop) and now is not Status.CLOSED:
        return "no reading is held, so there is nothing to keep or drop"
    return _WHY_NOT[now]


# Readings ----------------------------------------------------------------------------------------


def sent(reading: Reading) -> Sent:
    """A reading as the ledger keeps it."""
    return Sent(
        value=plain(reading.value),
        unit=reading.unit,
        resolution=plain(reading.resolution),
        channel=reading.channel,
        flags=reading.flags,
        raw_hex=reading.raw.hex(),
    )


def _take_reading(state: State, command: ask.Command, at_us: int) -> Events:
    assert isinstance(command, ask.TakeReading)
    what = sent(command.reading)
    now = status(state)
    if now is Status.ASKING:
        return _set_aside(state, what, "a held reading was waiting for keep or drop")
    if now is Status.OVER:
        return _set_aside(state, what, "no stint was running")
    stint = state.stint
    assert stint is not None
    new_flags = zero_lost(state, what.flags)
    if new_flags:
        why = f"the gauge says {', '.join(new_flags)}"
        return (*_set_aside(state, what, why), Zeroed(stint=stint.event.stint, why=why))
    too_old = stint_age_fault(state, at_us)
    if too_old and now is Status.MEASURING:
        return (*_set_aside(state, what, too_old), begin_stint(state, "age", too_old))
    doubts = doubts_about(state, what)
    if doubts:
        return (Held(stint=stint.event.stint, reasons=tuple(doubts), sent=what),)
    return _count(state, what, phase(state), at_us)


def _set_aside(state: State, what: Sent, why: str) -> Events:
    """Record a reading that cannot count: held and dropped at once, so that nothing is lost."""
    stint = state.stint.event.stint if state.stint else 0
    return (
        Held(stint=stint, reasons=(why,), sent=what),
        Dropped(held=state.last_seq + 1, why=why),
    )


def _count(
    state: State, what: Sent, what_phase: str | None, at_us: int, held: int | None = None
) -> Events:
    """A believed reading: of the check that is due (`what_phase`), else at the place asked for."""
    stint = state.stint
    assert stint is not None
    number = stint.event.stint
    if what_phase is None:
        position = next_position(state)
        assert position is not None
        place = place_of(position)
        event: AnyEvent = (
            Read(stint=number, place=place, sent=what)
            if held is None
            else Kept(held=held, stint=number, place=place)
        )
        stale = state.standing.get(position)
        if stale is not None:
            return (Voided(target=stale.seq, why="measured again in a new stint"), event)
        return (event,)
    run = state.check
    check_no = run.check_no if run is not None else state.check_no + 1
    first: AnyEvent = (
        CheckRead(stint=number, check_no=check_no, phase=what_phase, sent=what)
        if held is None
        else Kept(held=held, stint=number, check=CheckTag(check_no, what_phase))
    )
    counted = after(state, (first,), at_us)
    fault = coarse_gauge(counted)  # in each check: a resume may have widened the work
    if fault:
        return (first, close(counted, REJECTED, [fault]))
    assert counted.check is not None
    if len(counted.check.readings) < state.plan.check.readings:
        return (first,)
    return (first, *_judge(counted, at_us, is_final=is_part_done(state)))


def _judge(state: State, at_us: int, *, is_final: bool) -> Events:
    """Judge the check whose last reading just came; `is_final`: nothing is left to measure
    of the whole part."""
    stint, run = state.stint, state.check
    assert stint is not None
    assert run is not None
    event = judged_event(state, at_us)
    events: Events = (event,)
    is_closing = run.phase == "after" and (is_final or state.ending == "stop")
    if is_closing and not event.passed and state.ending != "later":
        said = [f"stopped: {state.ending_reason}"] if state.ending == "stop" else []
        events += (close(after(state, events, at_us), REJECTED, said),)
    return events


def _take_reject(state: State, command: ask.Command, at_us: int) -> Events:
    assert isinstance(command, ask.TakeReject)
    reject = command.reject
    return (
        Rejected(
            code=reject.code,
            detail=reject.detail,
            raw_hex=reject.raw.hex(),
            skipped=reject.skipped,
            flags=reject.flags,
            count=command.count,
            last_raw_hex=command.last_raw.hex(),
        ),
    )


# The operator's words ----------------------------------------------------------------------------


def _back(state: State, command: ask.Command, at_us: int) -> Events:
    if state.check is not None and state.check.readings:
        return (Voided(target=state.check.readings[-1].seq, why="back"),)
    if status(state) is Status.WAITING:
        raise Refused("nothing-to-take-back", "this check has no reading yet to take back")
    taken = last_taken(state)
    skipped = max(state.skips.values(), default=0)
    target = max(taken.seq if taken else 0, skipped)
    if not target:
        raise Refused("nothing-to-take-back", "there is no reading yet to take back")
    return (Voided(target=target, why="back"),)


def _retake(state: State, command: ask.Command, at_us: int) -> Events:
    assert isinstance(command, ask.Retake)
    position = find_position(state, command.text)
    if position in state.skips:
        return (Voided(target=state.skips[position], why="retake"),)
    taken = state.standing.get(position)
    if taken is None:
        raise Refused("not-measured-yet", f"{position} has no reading yet; the route comes to it")
    return (Voided(target=taken.seq, why="retake"),)


def _skip(state: State, command: ask.Command, at_us: int) -> Events:
    assert isinstance(command, ask.Skip)
    position = next_position(state)
    assert position is not None
    events: Events = (Skipped(place=place_of(position), reason=command.reason),)
    stale = state.standing.get(position)
    if stale is not None:
        events = (Voided(target=stale.seq, why="skipped in a new stint"), *events)
    return events


def _note(state: State, command: ask.Command, at_us: int) -> Events:
    assert isinstance(command, ask.Note)
    return (Noted(about="note", text=command.text),)


def _keep(state: State, command: ask.Command, at_us: int) -> Events:
    held = state.held
    assert held is not None
    what = held.event.sent
    free = after(state, (Dropped(held=held.seq, why=""),), at_us)  # the state without the question
    stint = free.stint
    if stint is None or stint.is_over:
        return (Dropped(held=held.seq, why="its stint is over"),)
    if sent_mm(what) is None:
        return (Dropped(held=held.seq, why="its unit is not a length, so it cannot count"),)
    if looks_like_deviation(free, what):
        return (Dropped(held=held.seq, why="a gauge that sends a deviation cannot be used here"),)
    if stint.unit is not None and what.channel != stint.channel:
        why = f"the gauge was swapped: {other_device(what, stint.channel)}"
        return (Dropped(held=held.seq, why=why), begin_stint(free, "swapped", why))
    return _count(state, what, phase(free), at_us, held.seq)


def _drop(state: State, command: ask.Command, at_us: int) -> Events:
    assert isinstance(command, ask.Drop)
    assert state.held is not None
    return (Dropped(held=state.held.seq, why=command.why),)


def _check_now(state: State, command: ask.Command, at_us: int) -> Events:
    return (Noted(about="check", text=""),)


def _zeroed(state: State, command: ask.Command, at_us: int) -> Events:
    assert state.stint is not None
    return (Zeroed(stint=state.stint.event.stint, why="operator"),)


def _stop(state: State, command: ask.Command, at_us: int) -> Events:
    assert isinstance(command, ask.StopHere)
    note = Noted(about="stop", text=command.reason)
    if status(state) in (Status.WAITING, Status.OVER):
        # Nothing is left that a closing check could prove.
        closing = after(state, (note,), at_us)
        return (note, close(closing, said=[f"stopped: {command.reason}"]))
    return (note,)


def _later(state: State, command: ask.Command, at_us: int) -> Events:
    return (Noted(about="later", text=""),)


def _abandon(state: State, command: ask.Command, at_us: int) -> Events:
    assert isinstance(command, ask.Abandon)
    return _close_now(state, ABANDONED, f"abandoned: {command.reason}", at_us)


def _give_up(state: State, command: ask.Command, at_us: int) -> Events:
    assert isinstance(command, ask.GiveUp)
    return _close_now(state, REJECTED, command.reason, at_us)


def _close_now(state: State, verdict: str, said: str, at_us: int) -> Events:
    events: Events = ()
    if state.held is not None:
        events = (Dropped(held=state.held.seq, why="the session was closed"),)
    return (*events, close(end_stint(after(state, events, at_us)), verdict, [said]))


def _time_passed(state: State, command: ask.Command, at_us: int) -> Events:
    fault = stint_age_fault(state, at_us)
    if fault and status(state) is Status.MEASURING:
        return (begin_stint(state, "age", fault),)
    return ()


def _lose_link(state: State, command: ask.Command, at_us: int) -> Events:
    assert isinstance(command, ask.LoseLink)
    return (LinkLost(reason=command.reason),)


def _find_link(state: State, command: ask.Command, at_us: int) -> Events:
    assert isinstance(command, ask.FindLink)
    return plugged_in_again(state, command.source, at_us)


def _link_note(state: State, command: ask.Command, at_us: int) -> Events:
    assert isinstance(command, ask.LinkNote)
    return (Noted(about="link", text=command.text),)


def _history_note(state: State, command: ask.Command, at_us: int) -> Events:
    assert isinstance(command, ask.HistoryNote)
    return (Noted(about="despite-history", text=command.text),)


_RULES: dict[type[ask.Command], Rule] = {
    ask.TakeReading: _take_reading,
    ask.TakeReject: _take_reject,
    ask.Back: _back,
    ask.Retake: _retake,
    ask.Skip: _skip,
    ask.Note: _note,
    ask.Keep: _keep,
    ask.Drop: _drop,
    ask.CheckNow: _check_now,
    ask.GaugeZeroed: _zeroed,
    ask.StopHere: _stop,
    ask.Later: _later,
    ask.Abandon: _abandon,
    ask.GiveUp: _give_up,
    ask.TimePassed: _time_passed,
    ask.LoseLink: _lose_link,
    ask.FindLink: _find_link,
    ask.LinkNote: _link_note,
    ask.HistoryNote: _history_note,
}
