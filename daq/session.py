"""The state of one session, folded from its ledger: what stands, what is proven, what comes next.

`evolve` never refuses: a record is a fact, and replay must not fail on a rule that changed since.
Nothing here is set that can be derived: status, the next position and each reading's fate are
functions of the state.
"""

from collections.abc import Mapping
from decimal import Decimal
from enum import StrEnum

import msgspec

from daq.errors import Refused
from daq.events import (
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
    PlaceTag,
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
from daq.gauge_file import Gauge, parse_gauge
from daq.job import Job, make_job, planned
from daq.plan import Plan, parse_plan
from daq.terms import EXACT, MM_PER, Length, Position, parse_length, to_mm

MOST_DIGITS = 6
"""Of an angle or a repeat as the operator writes it."""


class Status(StrEnum):
    """Where a session stands; derived."""

    WAITING = "waiting"  # for the stint's before-check
    MEASURING = "measuring"
    CHECKING = "checking"  # a during check was asked for
    CLOSING = "closing"  # the stint's closing check is due
    ASKING = "asking"  # a held reading waits for keep or drop
    OVER = "over"  # no stint is running, the session is open
    CLOSED = "closed"


class Taken(msgspec.Struct, frozen=True):
    """A reading of the part. `seq` is the line that holds its number."""

    seq: int
    at_us: int
    stint: int
    position: Position
    sent: Sent

    @property
    def mm(self) -> Decimal:
        """In mm, exactly; 0 for a unit that is no length (such a reading is never taken)."""
        return sent_mm(self.sent) or Decimal(0)


class CheckTaken(msgspec.Struct, frozen=True):
    """A reading of the stack in check `check_no`."""

    seq: int
    at_us: int
    stint: int
    check_no: int
    phase: str
    sent: Sent


class CheckRun(msgspec.Struct, frozen=True):
    """The check under way."""

    check_no: int
    phase: str
    readings: tuple[CheckTaken, ...] = ()


class Judged(msgspec.Struct, frozen=True):
    """A check that was judged, with the errors it rests on (mm, one per counted reading)."""

    seq: int
    at_us: int
    event: CheckJudged
    errors: tuple[Decimal, ...]


class Stint(msgspec.Struct, frozen=True):
    """One gauge and one stack. `unit`, `resolution`, `channel` and `flags` are those of the first
    reading of its before-check; None while that is still to come.
    """

    event: StintBegan
    size: Length
    unit: str | None = None
    resolution: str | None = None
    channel: str | None = None
    flags: tuple[str, ...] = ()
    before: Judged | None = None
    last_passed_us: int | None = None
    is_over: bool = False


class HeldReading(msgspec.Struct, frozen=True):
    """The held reading that waits for an answer."""

    seq: int
    at_us: int
    event: Held


class State(msgspec.Struct, frozen=True, kw_only=True):
    """Everything the ledger says. `standing` maps a position to the reading that stands there;
    `judged` and `checks` are in order of time; `drops_in_row` counts held readings dropped since
    the last one that was taken.
    """

    opened: Opened
    opened_us: int
    setup: Setup
    setups: tuple[Setup, ...]
    plan: Plan
    job: Job
    gauge: Gauge | None
    last_seq: int
    last_us: int
    stint: Stint | None = None
    stints: tuple[StintBegan, ...] = ()
    check: CheckRun | None = None
    check_no: int = 0
    checks: tuple[CheckTaken, ...] = ()
    judged: tuple[Judged, ...] = ()
    readings: tuple[Taken, ...] = ()
    standing: dict[Position, Taken] = {}
    voided: frozenset[int] = frozenset()
    skips: dict[Position, int] = {}
    over_stints: frozenset[int] = frozenset()
    held: HeldReading | None = None
    drops_in_row: int = 0
    is_check_asked: bool = False
    ending: str = ""
    ending_reason: str = ""
    link_lost: bool = False
    closed: Closed | None = None

    def stack_mm(self, stint: int) -> Decimal:
        """The size of a stint's stack in mm."""
        return parse_length(self.stints[stint - 1].stack_size).mm


def sent_mm(sent: Sent) -> Decimal | None:
    """A sent value in mm, exactly; None if its unit is no length."""
    return to_mm(Decimal(sent.value), sent.unit) if sent.unit in MM_PER else None


def begin(entry: Entry, source: str) -> State:
    """The state after the first line. `source` names the plan in messages.

    Raises PlanError if the recorded plan cannot be read by this program.
    """
    opened = entry.event
    assert isinstance(opened, Opened)
    plan = parse_plan(opened.plan, source)
    return State(
        opened=opened,
        opened_us=entry.at_us,
        setup=opened.setup,
        setups=(opened.setup,),
        plan=plan,
        job=_job(plan, opened.setup),
        gauge=_gauge(opened.setup),
        last_seq=entry.seq,
        last_us=entry.at_us,
    )


def _job(plan: Plan, setup: Setup) -> Job:
    return make_job(plan, setup.only, setup.stack, setup.saved_stacks)


def _gauge(setup: Setup) -> Gauge | None:
    if setup.gauge_file is None:
        return None
    return parse_gauge(setup.gauge_file, setup.source.gauge, "the gauge file in the ledger")


def step_mm(state: State, sent: Sent) -> Decimal:
    """The gauge's resolution in mm: as its file states it, else as it was sent."""
    if state.gauge is not None and state.gauge.resolution is not None:
        return state.gauge.resolution.mm
    return to_mm(Decimal(sent.resolution), sent.unit)


def evolve(state: State, entry: Entry) -> State:
    """The state after one more line."""
    state = msgspec.structs.replace(state, last_seq=entry.seq, last_us=entry.at_us)
    replace = msgspec.structs.replace
    match entry.event:
        case StintBegan() as event:
            size = parse_length(event.stack_size)
            return replace(
                _end_stint(state),
                stint=Stint(event, size),
                stints=(*state.stints, event),
                check=None,
                ending="",
                ending_reason="",
                is_check_asked=False,
            )
        case CheckRead() as event:
            return _check_read(
                state,
                CheckTaken(
                    entry.seq, entry.at_us, event.stint, event.check_no, event.phase, event.sent
                ),
            )
        case CheckJudged() as event:
            return _judged(state, entry, event)
        case Read() as event:
            position = position_of(event.place)
            return _taken(state, Taken(entry.seq, entry.at_us, event.stint, position, event.sent))
        case Held() as event:
            # One question at a time: what comes while it is open is dropped by the next line.
            held = state.held or HeldReading(entry.seq, entry.at_us, event)
            return replace(state, held=held)
        case Kept() as event:
            return _kept(state, event)
        case Dropped() as event:
            if state.held is None or state.held.seq != event.held:
                return state
            return replace(state, held=None, drops_in_row=state.drops_in_row + 1)
        case Voided() as event:
            return _voided(state, event)
        case Skipped() as event:
            return replace(
                state, skips=state.skips | {position_of(event.place): entry.seq}, drops_in_row=0
            )
        case Noted() as event:
            return _noted(state, event)
        case Zeroed():
            return replace(_end_stint(state), check=None)
        case LinkLost():
            return replace(state, link_lost=True)
        case LinkBack():
            return replace(state, link_lost=False)
        case Resumed() as event:
            return replace(
                state,
                setup=event.setup,
                setups=(*state.setups, event.setup),
                job=_job(state.plan, event.setup),
                gauge=_gauge(event.setup),
                stint=_unproven(state.stint),
                check=None,
                ending="",
                ending_reason="",
                is_check_asked=False,
            )
        case Closed() as event:
            return replace(_end_stint(state), closed=event, held=None)
        case Rejected() | Opened():
            return state


def position_of(place: PlaceTag) -> Position:
    """The position that a tag names."""
    return Position(place.journal, place.station, place.angle_deg, place.repeat)


def place_of(position: Position) -> PlaceTag:
    """The tag of a position."""
    return PlaceTag(position.journal, position.station, position.angle_deg, position.repeat)


def _end_stint(state: State) -> State:
    stint = state.stint
    if stint is None or stint.is_over:
        return state
    return msgspec.structs.replace(
        state,
        stint=msgspec.structs.replace(stint, is_over=True),
        over_stints=state.over_stints | {stint.event.stint},
    )


def _check_read(state: State, taken: CheckTaken) -> State:
    run = state.check
    if run is None or run.check_no != taken.check_no:
        run = CheckRun(taken.check_no, taken.phase)
    state = msgspec.structs.replace(
        state,
        check=msgspec.structs.replace(run, readings=(*run.readings, taken)),
        check_no=max(state.check_no, taken.check_no),
        checks=(*state.checks, taken),
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
    judged = Judged(entry.seq, entry.at_us, event, errors)
    if event.passed:
        stint = msgspec.structs.replace(
            stint,
            before=judged if event.phase == "before" else stint.before,
            last_passed_us=entry.at_us,
        )
    stint = _unproven(stint)
    state = msgspec.structs.replace(
        state, stint=stint, check=None, judged=(*state.judged, judged), is_check_asked=False
    )
    is_last = event.phase == "after" or (event.phase == "during" and not event.passed)
    return _end_stint(state) if is_last else state


def _unproven(stint: Stint | None) -> Stint | None:
    """A stint without the first reading of a before-check that failed or was cut short."""
    if stint is None or stint.before is not None:
        return stint
    return msgspec.structs.replace(stint, unit=None, resolution=None, channel=None, flags=())


def sent_mm_or_zero(sent: Sent) -> Decimal:
    """A sent value in mm; a unit that is no length counts as zero and so fails any check."""
    return sent_mm(sent) or Decimal(0)


def _taken(state: State, taken: Taken) -> State:
    return msgspec.structs.replace(
        state,
        readings=(*state.readings, taken),
        standing=state.standing | {taken.position: taken},
        drops_in_row=0,
    )


def _kept(state: State, event: Kept) -> State:
    held = state.held
    state = msgspec.structs.replace(state, held=None, drops_in_row=0)
    if held is None:
        return state
    sent = held.event.sent
    if event.check is not None:
        tag = event.check
        return _check_read(
            state, CheckTaken(held.seq, held.at_us, event.stint, tag.check_no, tag.phase, sent)
        )
    if event.place is not None:
        position = position_of(event.place)
        return _taken(state, Taken(held.seq, held.at_us, event.stint, position, sent))
    return state


def _voided(state: State, event: Voided) -> State:
    state = msgspec.structs.replace(state, voided=state.voided | {event.target})
    run = state.check
    if run is not None and any(taken.seq == event.target for taken in run.readings):
        left = tuple(taken for taken in run.readings if taken.seq != event.target)
        return _first_of_stint(
            msgspec.structs.replace(state, check=msgspec.structs.replace(run, readings=left))
        )
    # A place that opens again cuts a check short: what was read of it does not count.
    return msgspec.structs.replace(
        state,
        check=None,
        standing={p: t for p, t in state.standing.items() if t.seq != event.target},
        skips={p: seq for p, seq in state.skips.items() if seq != event.target},
    )


def _noted(state: State, event: Noted) -> State:
    if event.about == "check":
        return msgspec.structs.replace(state, is_check_asked=True)
    if event.about in ("stop", "later"):
        return msgspec.structs.replace(
            state,
            ending=event.about,
            ending_reason=event.text,
            is_check_asked=False,
            check=None if state.is_check_asked else state.check,
        )
    return state


# What follows from the state ---------------------------------------------------------------------


def status(state: State) -> Status:
    """Where the session stands."""
    if state.closed is not None:
        return Status.CLOSED
    if state.held is not None:
        return Status.ASKING
    stint = state.stint
    if stint is None or stint.is_over:
        return Status.OVER
    if stint.before is None:
        return Status.WAITING
    following = next_position(state)
    if state.ending or following is None or not is_served(state, following):
        return Status.CLOSING
    return Status.CHECKING if state.is_check_asked else Status.MEASURING


def phase(state: State) -> str | None:
    """Which check a reading would belong to now: before, during or after; None if none."""
    return {
        Status.WAITING: "before",
        Status.CHECKING: "during",
        Status.CLOSING: "after",
    }.get(status(state))


def is_served(state: State, position: Position) -> bool:
    """The running stint's stack proves the gauge for this position's journal."""
    stint = state.stint
    return stint is not None and state.job.sizes[state.job.stacks[position.journal]] == stint.size


def next_position(state: State) -> Position | None:
    """The first place on the route that has no reading, or only a tainted one; None: all done."""
    return next((p for p in state.job.route if _is_open(state, p)), None)


def is_part_done(state: State) -> bool:
    """No place of the whole plan is left to measure, whichever gauge reaches it."""
    return not any(
        _is_open(state, position)
        for journal in state.plan.journals
        for position in planned(journal)
    )


def _is_open(state: State, position: Position) -> bool:
    """A place that has no reading, or only a tainted one, and is not skipped."""
    taken = state.standing.get(position)
    if taken is None:
        return position not in state.skips
    # A failed check ends its stint, so nothing of the running one is tainted.
    stint = state.stint
    is_running = stint is not None and not stint.is_over and taken.stint == stint.event.stint
    return not is_running and fate(state, taken) == "tainted"


def fate(state: State, taken: Taken) -> str:
    """`proven`, `tainted` or still `open`: by the next check of its stint, else by its end."""
    for judged in state.judged:
        event = judged.event
        if event.stint == taken.stint and judged.seq > taken.seq and event.phase != "before":
            return "proven" if event.passed else "tainted"
    return "tainted" if taken.stint in state.over_stints else "open"


def fates(state: State) -> Mapping[int, str]:
    """The fate of every standing reading, by its line."""
    return {taken.seq: fate(state, taken) for taken in state.standing.values()}


def find_position(state: State, text: str) -> Position:
    """The position called JOURNAL/STATION/ANGLE[/REPEAT]; raises Refused with what is known."""
    parts = [part.strip() for part in text.split("/")]
    if len(parts) in (3, 4) and all(n.isdecimal() and len(n) <= MOST_DIGITS for n in parts[2:]):
        wanted = Position(parts[0], parts[1], *map(int, parts[2:]))
        if wanted in state.job.route:
            return wanted
    example = state.job.route[0]
    raise Refused(
        "unknown-place",
        f"no place {text[:60]!r} on this route; write JOURNAL/STATION/ANGLE, like {example}",
    )


def last_taken(state: State) -> Taken | None:
    """The latest standing reading of the part."""
    return max(state.standing.values(), key=lambda taken: taken.seq, default=None)
