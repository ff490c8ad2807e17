"""The fold of a ledger: the state after its first line, and after each further one. Pure.

`evolve` never refuses: a record is a fact, and replay must not fail on a rule that changed since.
"""

from typing import assert_never

import msgspec

from daq.equipment.gauge import Gauge, read_gauge
from daq.lengths import EXACT, Position, parse_length
from daq.plan.ground_to import ground
from daq.plan.plan import Plan, read_plan
from daq.plan.scope import Scope, read_scope
from daq.record.environment import environment
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
    Setup,
    Skipped,
    StintBegan,
    Voided,
    Zeroed,
)
from daq.record.evolve_arrivals import arrivals_with
from daq.record.evolve_waiting import settled, with_answer, with_question
from daq.record.log import Log
from daq.record.rule_sets import size_mm
from daq.record.shared_map import SharedMap
from daq.record.standing import JournalReadings, PartReading, is_place_of
from daq.record.state import (
    CheckUnderWay,
    HeldReading,
    JudgedCheck,
    StackReading,
    State,
    Stint,
    reading_of,
    sent_mm_or_zero,
)


def begin(entry: Entry, source: str) -> State:
    """The state after the first line. `source` names the plan in messages.

    Raises PlanError if the recorded plan cannot be read by this program.
    """
    opened = entry.event
    assert isinstance(opened, Opened)
    plan = ground(read_plan(opened.plan, source), opened.setup.ground_to)
    gauge = _gauge(opened.setup)
    return State(
        opened=opened,
        opened_us=entry.at_us,
        setup=opened.setup,
        setups=(opened.setup,),
        plan=plan,
        scope=_scope(plan, opened.setup),
        gauges=(gauge,),
        environments=(environment(plan, opened.setup),),
        last_seq=entry.seq,
        last_us=entry.at_us,
        run_rules=opened.rules,
    )


def _scope(plan: Plan, setup: Setup) -> Scope:
    return read_scope(plan, setup.only, setup.stack, setup.saved_stacks)


def _gauge(setup: Setup) -> Gauge | None:
    if setup.gauge_file is None:
        return None
    return read_gauge(setup.gauge_file, setup.source.gauge, "the gauge file in the record")


def evolve(state: State, entry: Entry) -> State:
    """The state after one more line."""
    told = msgspec.structs.replace(
        state, last_seq=entry.seq, last_us=entry.at_us, arrivals=arrivals_with(state, entry)
    )
    now = _fold(told, entry)
    is_usual = now.is_as_run and type(entry.event) in _JUDGES_NOTHING
    return now if is_usual else settled(state, now)


_JUDGES_NOTHING = (Read, Voided, Rejected)
"""The commonest kinds of line that neither judge what was read before nor end a stint."""


def _fold(state: State, entry: Entry) -> State:
    replace = msgspec.structs.replace
    match entry.event:
        case Read() as event:
            return _taken(state, entry.seq, entry.at_us, event.stint, event.place, event.sent)
        case Voided() as event:
            return _voided(state, event, entry.seq)
        case Noted() as event:
            return _noted(state, event)
        case Rejected():
            return state
        case StintBegan() as event:
            size = parse_length(event.stack_size)
            return replace(
                end_stint(state),
                stint=Stint(event, size),
                stints=state.stints.added(event),
                drops_in_row=0,
                check=None,
                ending="",
                ending_reason="",
                is_check_asked=False,
            )
        case CheckRead() as event:
            return _check_read(
                state,
                StackReading(
                    entry.seq,
                    entry.at_us,
                    _run(state),
                    event.stint,
                    event.check_no,
                    event.phase,
                    event.sent,
                ),
            )
        case CheckJudged() as event:
            return _judged(state, entry, event)
        case Held() as event:
            # One question at a time: what comes while it is open is dropped by the next line.
            held = state.held or HeldReading(entry.seq, entry.at_us, event)
            return replace(state, held=held)
        case Kept() as event:
            return _kept(state, event)
        case Dropped() as event:
            drops = state.drops_in_row + event.count
            if event.count > 1:
                return replace(state, drops_in_row=drops)
            if state.held is None or state.held.seq != event.held:
                return state
            return replace(state, held=None, drops_in_row=drops)
        case Skipped() as event:
            return _skipped(state, event.place, entry.seq)
        case Zeroed():
            return replace(end_stint(state), check=None)
        case LinkLost():
            return replace(state, link_lost=True)
        case LinkBack() as event:
            return replace(
                state,
                link_lost=False,
                setup=replace(state.setup, source=event.source),
                stint=_unproven(state.stint),
                check=None,  # cut short, so it does not count
            )
        case Resumed() as event:
            gauge = _gauge(event.setup)
            return replace(
                state,
                setup=event.setup,
                setups=(*state.setups, event.setup),
                scope=_scope(state.plan, event.setup),
                gauges=(*state.gauges, gauge),
                environments=(*state.environments, environment(state.plan, event.setup)),
                stint=_unproven(state.stint),
                drops_in_row=0,
                check=None,
                ending="",
                ending_reason="",
                is_check_asked=False,
                run_rules=event.rules,
            )
        case Closed() as event:
            closed = replace(end_stint(state), closed=event, held=None)
            return judged_by(closed, event.rules)
        case Opened():
            return state
        case _:
            assert_never(entry.event)


def end_stint(state: State) -> State:
    """The state with its stint over: what no passed check has proven by then is tainted."""
    stint = state.stint
    if stint is None or stint.is_over:
        return state
    return msgspec.structs.replace(
        state,
        stint=msgspec.structs.replace(stint, is_over=True),
        over_stints=state.over_stints.with_item(stint.event.stint, state.last_seq),
    )


def _check_read(state: State, taken: StackReading) -> State:
    run = state.check
    if run is None or run.check_no != taken.check_no:
        run = CheckUnderWay(taken.check_no, taken.phase)
    state = msgspec.structs.replace(
        state,
        check=msgspec.structs.replace(run, readings=(*run.readings, taken)),
        check_no=max(state.check_no, taken.check_no),
        checks=state.checks.added(taken),
        drops_in_row=0,
    )
    return _first_of_stint(state)


def _first_of_stint(state: State) -> State:
    """Unit, resolution and channel of a stint are those of its before-check's first reading."""
    stint, run = state.stint, state.check
    if stint is None or run is None or stint.before is not None:
        return state
    first = run.readings[0].sent if run.readings else None
    return msgspec.structs.replace(
        state,
        stint=msgspec.structs.replace(
            stint,
            unit=first and first.unit,
            resolution=first and first.resolution,
            channel=first and first.channel,
            flags=first.flags if first else (),
        ),
    )


def _judged(state: State, entry: Entry, event: CheckJudged) -> State:
    stint, run = state.stint, state.check
    if stint is None:
        return state
    errors = tuple(
        EXACT.subtract(sent_mm_or_zero(taken.sent), stint.size.mm)
        for taken in (run.readings if run else ())
    )
    judged = JudgedCheck(entry.seq, entry.at_us, event, errors)
    if event.passed:
        stint = msgspec.structs.replace(
            stint,
            before=judged if event.phase == "before" else stint.before,
            last_passed_us=entry.at_us,
        )
    stint = _unproven(stint)
    state = msgspec.structs.replace(
        state,
        stint=stint,
        check=None,
        judged=state.judged.added(judged),
        is_check_asked=False,
        is_as_run=state.is_as_run and _is_of_running(state, event.stint),
    )
    is_last = event.phase == "after" or (event.phase == "during" and not event.passed)
    return end_stint(state) if is_last else state


def _unproven(stint: Stint | None) -> Stint | None:
    """A stint without the first reading of a before-check that failed or was cut short."""
    if stint is None or stint.before is not None:
        return stint
    return msgspec.structs.replace(stint, unit=None, resolution=None, channel=None, flags=())


def _run(state: State) -> int:
    return len(state.setups) - 1


def _taken(state: State, seq: int, at_us: int, stint: int, place: Position, sent: Sent) -> State:
    run, scope, running = _run(state), state.scope, state.stint
    if running is not None and running.event.stint == stint:  # the usual case
        stack, is_running = running.event.stack, not running.is_over
    else:
        stack, is_running = _stack(state, stint), False
    index = scope.index.get(place)
    if index is not None:
        place = scope.route[index]  # one record of each place: it is found sooner
    mm = sent_mm_or_zero(sent)
    at_20c_mm = size_mm(state.rules, state.environments[run], stack, mm)
    taken = PartReading(seq, at_us, run, stint, place, sent, mm, at_20c_mm)
    standing = state.standing.with_item(place, taken)
    return msgspec.structs.replace(
        state,
        readings=state.readings.added(taken),
        standing=standing,
        by_journal=_with(state, taken, is_on_route=index is not None),
        drops_in_row=0,
        waiting=with_answer(state, index, standing, state.skips),
        is_as_run=state.is_as_run and is_running and _is_last(state, seq),
    )


def _is_of_running(state: State, number: int) -> bool:
    """This is the number of the stint that runs."""
    stint = state.stint
    return stint is not None and not stint.is_over and stint.event.stint == number


def _is_last(state: State, line: int) -> bool:
    """No reading of the part and no judgement stands behind this line, so far."""
    return line == state.last_seq or all(
        not log or log[-1].seq < line for log in (state.readings, state.judged)
    )


def _skipped(state: State, place: Position, line: int) -> State:
    skips = state.skips.with_item(place, line)
    # A reading that stands there says itself whether the place waits.
    is_read = place in state.standing
    return msgspec.structs.replace(
        state,
        skips=skips,
        skip_lines=state.skip_lines.with_item(line, place),
        drops_in_row=0,
        waiting=state.waiting
        if is_read
        else with_answer(state, state.scope.index.get(place), state.standing, skips),
    )


def judged_by(state: State, rules: int) -> State:
    """The state of a session as rule set `rules` judges it: its readings have the sizes that were
    judged then.
    """
    if rules == state.rules:
        return state

    def sized(taken: PartReading) -> PartReading:
        around, stack = state.environments[taken.run], _stack(state, taken.stint)
        size = size_mm(rules, around, stack, taken.mm)
        return msgspec.structs.replace(taken, at_20c_mm=size)

    found = {taken.seq: sized(taken) for taken in state.readings}
    return msgspec.structs.replace(
        state,
        rules=rules,
        readings=Log(found.values()),
        standing=SharedMap((place, found[taken.seq]) for place, taken in state.standing.items()),
        by_journal=SharedMap(
            (
                name,
                JournalReadings.of(
                    own.journal, (found[taken.seq] for taken in own.taken), own.operators
                ),
            )
            for name, own in state.by_journal.items()
        ),
    )


def _stack(state: State, number: int) -> str:
    """The stack of a stint; none if there is no stint of that number."""
    running, stints = state.stint, state.stints
    if running is not None and running.event.stint == number:
        return running.event.stack
    return stints[number - 1].stack if 0 < number <= len(stints) else ""


def _with(
    state: State, taken: PartReading, *, is_on_route: bool
) -> SharedMap[str, JournalReadings]:
    """The readings by journal with one more; one at a place that the plan does not have is kept in
    the record, and judged nowhere.
    """
    name = taken.position.journal
    journal = state.plan.by_name.get(name)
    if journal is None or not (is_on_route or is_place_of(journal, taken.position)):
        return state.by_journal
    found = state.by_journal.get(name)
    if found is not None:
        return state.by_journal.with_item(name, found.added(taken))
    study = state.plan.study
    operators = len(study.operators) if study else 1
    first = JournalReadings.of(journal, (taken,), operators)
    return state.by_journal.with_item(name, first)


def _without(
    found: SharedMap[str, JournalReadings], gone: PartReading
) -> SharedMap[str, JournalReadings]:
    """The readings by journal without one of them."""
    name = gone.position.journal
    readings = found.get(name)
    if readings is None or readings.standing.get(gone.position) is not gone:
        return found
    left = readings.without(gone)
    if left is None:
        return found.without(name)
    return found.with_item(name, left)


def _kept(state: State, event: Kept) -> State:
    held = state.held
    state = msgspec.structs.replace(state, held=None, drops_in_row=0)
    if held is None:
        return state
    sent = held.event.sent
    if event.check is not None:
        tag = event.check
        return _check_read(
            state,
            StackReading(
                held.seq, held.at_us, _run(state), event.stint, tag.check_no, tag.phase, sent
            ),
        )
    if event.place is not None:
        return _taken(state, held.seq, held.at_us, event.stint, event.place, sent)
    return state


def _voided(state: State, event: Voided, seq: int) -> State:
    voided, line = state.voided.with_item(event.target, seq), event.target
    run = state.check
    if run is not None and any(taken.seq == line for taken in run.readings):
        left = tuple(taken for taken in run.readings if taken.seq != line)
        check = msgspec.structs.replace(run, readings=left)
        return _first_of_stint(msgspec.structs.replace(state, voided=voided, check=check))
    # A place that opens again cuts a check short: what was read of it does not count.
    place = state.skip_lines.get(line)
    if place is not None and state.skips.get(place) == line:
        skips = state.skips.without(place)
        is_read = place in state.standing
        return msgspec.structs.replace(
            state,
            voided=voided,
            check=None,
            skips=skips,
            waiting=state.waiting if is_read else with_question(state, place, is_skipped=False),
        )
    taken = reading_of(state, line)
    if taken is None or state.standing.get(taken.position) is not taken:
        return msgspec.structs.replace(state, voided=voided, check=None)
    place = taken.position
    return msgspec.structs.replace(
        state,
        voided=voided,
        check=None,
        standing=state.standing.without(place),
        by_journal=_without(state.by_journal, taken),
        waiting=with_question(state, place, is_skipped=place in state.skips),
    )


def _noted(state: State, event: Noted) -> State:
    if event.about == "despite-history":
        return msgspec.structs.replace(state, despite=state.despite.added(event.text))
    if event.about == "check":
        return msgspec.structs.replace(state, is_check_asked=True)
    if event.about in ("stop", "later"):
        if event.about == "later" and state.stint is not None and state.stint.before is None:
            # No check of this stint passed, so a closing check has nothing to prove.
            state = msgspec.structs.replace(end_stint(state), check=None)
        return msgspec.structs.replace(
            state,
            ending=event.about,
            ending_reason=event.text,
            is_check_asked=False,
            check=None if state.is_check_asked else state.check,
        )
    return state
