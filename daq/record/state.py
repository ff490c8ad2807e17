"""The state of one session as its ledger tells it, and what follows from it. Pure.

What can be derived is a function of the state: status, the next position, each reading's fate.
"""

import re
from bisect import bisect_right
from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal
from enum import StrEnum
from functools import lru_cache
from typing import TypeAlias

import msgspec

from daq.equipment.gauge import Gauge
from daq.errors import Refused
from daq.lengths import MM_PER, Length, Position, parse_length, to_mm
from daq.plan.plan import Plan
from daq.plan.scope import Scope, planned
from daq.record.environment import Environment
from daq.record.events import (
    RULES,
    CheckJudged,
    Closed,
    Held,
    Opened,
    Sent,
    Setup,
    StintBegan,
)
from daq.record.log import Log
from daq.record.shared_map import SharedMap
from daq.record.standing import JournalReadings, PartReading
from daq.record.waiting import Waiting, bits

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


class StackReading(msgspec.Struct, frozen=True, gc=False):
    """A reading of the stack in check `check_no`."""

    seq: int
    at_us: int
    run: int
    stint: int
    check_no: int
    phase: str
    sent: Sent


class CheckUnderWay(msgspec.Struct, frozen=True):
    """The check under way."""

    check_no: int
    phase: str
    readings: tuple[StackReading, ...] = ()


class JudgedCheck(msgspec.Struct, frozen=True):
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
    before: JudgedCheck | None = None
    last_passed_us: int | None = None
    is_over: bool = False


class HeldReading(msgspec.Struct, frozen=True):
    """The held reading that waits for an answer."""

    seq: int
    at_us: int
    event: Held


class Arrival(msgspec.Struct, frozen=True, gc=False):
    """The last reading that came by a channel, whatever became of it. `of`: the place, or STACK,
    that it was taken at as far as is known; None if nothing was asked for. `soon`: so many in a
    row, this one the last, came sooner after the one before than a hand can press.
    """

    at_us: int
    of: Position | str | None
    soon: int = 0


Proofs: TypeAlias = Mapping[int, tuple[list[int], list[bool]]]
"""The lines of checks by stint, and whether each passed."""

_ZERO = Decimal(0)

STACK = "the stack"
"""What is asked for in a check, in words."""


class State(msgspec.Struct, frozen=True, kw_only=True):
    """Everything the ledger says. `plan`: as recorded, for a part ground to an undersize with the
    limits of that. `standing` maps a position to the reading that stands there, `by_journal` a
    journal to all that stand on it, `voided` a line to the one that took it back, `skips` a
    position to the line that left it out, `over_stints` a stint to the line that ended it;
    `readings`, `judged` and `checks` are in order of time; `drops_in_row` counts held readings
    dropped since the last one that was taken. `setups`, `gauges` and `environments` have one entry
    a run; `despite` has the reasons why a gauge was used that its history called out of control.
    `arrivals` has the last reading by channel. `rules`: the rule set that judges, this program's
    until a session is closed under another. `run_rules`: that of the program that made the run
    under way, which judges its checks. The order of a SharedMap says
    nothing: see `standing_readings`.

    So that no line needs all places to be looked at: `waiting` has the places of the route that
    wait for a reading. Before `settled` no reading changes its fate any more, if `is_as_run`:
    readings and checks came in the running stint and in the order of their lines, as every run
    writes them. `skip_lines` has the place that a line left out.
    """

    opened: Opened
    opened_us: int
    setup: Setup
    setups: tuple[Setup, ...]
    plan: Plan
    scope: Scope
    gauges: tuple[Gauge | None, ...]
    environments: tuple[Environment, ...]
    last_seq: int
    last_us: int
    stint: Stint | None = None
    stints: Log[StintBegan] = Log()
    check: CheckUnderWay | None = None
    check_no: int = 0
    checks: Log[StackReading] = Log()
    judged: Log[JudgedCheck] = Log()
    readings: Log[PartReading] = Log()
    standing: SharedMap[Position, PartReading] = SharedMap()
    by_journal: SharedMap[str, JournalReadings] = SharedMap()
    voided: SharedMap[int, int] = SharedMap()
    skips: SharedMap[Position, int] = SharedMap()
    skip_lines: SharedMap[int, Position] = SharedMap()
    over_stints: SharedMap[int, int] = SharedMap()
    held: HeldReading | None = None
    drops_in_row: int = 0
    arrivals: dict[str | None, Arrival] = {}
    is_check_asked: bool = False
    ending: str = ""
    ending_reason: str = ""
    link_lost: bool = False
    despite: Log[str] = Log()
    closed: Closed | None = None
    waiting: Waiting = Waiting()
    settled: int = 0
    is_as_run: bool = True
    rules: int = RULES
    run_rules: int = RULES

    @property
    def gauge(self) -> Gauge | None:
        """The gauge file of this run."""
        return self.gauges[-1]

    def stack_mm(self, stint: int) -> Decimal:
        """The size of a stint's stack in mm."""
        return parse_length(self.stints[stint - 1].stack_size).mm


def sent_mm(sent: Sent) -> Decimal | None:
    """A sent value in mm, exactly; None if its unit is no length."""
    return _mm_of(sent.value, sent.unit)


@lru_cache(maxsize=4096)
def _mm_of(value: str, unit: str) -> Decimal | None:
    """Kept: most of thousands of readings are of the same few sizes."""
    return to_mm(Decimal(value), unit) if unit in MM_PER else None


def step_mm(state: State, taken: PartReading | StackReading) -> Decimal:
    """The step in mm of the gauge that took a reading: as told for its run, else by its file, else
    one unit of the last digit sent.
    """
    told = state.setups[taken.run].step
    if told is not None:
        return parse_length(told).mm
    gauge = state.gauges[taken.run]
    if gauge is not None and gauge.resolution is not None:
        return gauge.resolution.mm
    return to_mm(Decimal(taken.sent.resolution), taken.sent.unit)


def sent_mm_or_zero(sent: Sent) -> Decimal:
    """A sent value in mm; a unit that is no length counts as zero and so fails any check."""
    return _mm_of(sent.value, sent.unit) or _ZERO


def status(state: State) -> Status:
    """Where the session stands."""
    return _status(state, next_position(state))


def _status(state: State, following: Position | None) -> Status:
    if state.closed is not None:
        return Status.CLOSED
    if state.held is not None:
        return Status.ASKING
    stint = state.stint
    if stint is None or stint.is_over:
        return Status.OVER
    if stint.before is None:
        return Status.WAITING
    if state.ending or following is None or not is_served(state, following):
        return Status.CLOSING
    return Status.CHECKING if state.is_check_asked else Status.MEASURING


def stint_in(state: State) -> Stint:
    """The stint of a state whose status has one: all but over and closed."""
    assert state.stint is not None
    return state.stint


def check_in(state: State) -> CheckUnderWay:
    """The check under way, where a reading of it was just taken."""
    assert state.check is not None
    return state.check


def held_in(state: State) -> HeldReading:
    """The held reading of a state that asks for keep or drop."""
    assert state.held is not None
    return state.held


def place_in(state: State) -> Position:
    """The place that is asked for while measuring."""
    position = next_position(state)
    assert position is not None
    return position


def phase(state: State) -> str | None:
    """Which check a reading would belong to now: before, during or after; None if none."""
    return {
        Status.WAITING: "before",
        Status.CHECKING: "during",
        Status.CLOSING: "after",
    }.get(status(state))


def target(state: State) -> Position | str | None:
    """What a reading would be of now, were no question open: a place, or STACK; None if no stint
    runs.
    """
    if state.held is not None:
        state = msgspec.structs.replace(state, held=None)
    following = next_position(state)
    now = _status(state, following)
    if now is Status.MEASURING:
        return following
    return None if now in (Status.OVER, Status.CLOSED) else STACK


def least_interval_us(state: State) -> int:
    """How soon after another a reading may come by now: a check has its own time from its first
    counted reading to its last.
    """
    intervals = state.plan.intervals
    is_in_check = state.check is not None and bool(state.check.readings)
    return intervals.in_check_us if is_in_check and target(state) == STACK else intervals.else_us


def is_soon(state: State, channel: str | None, at_us: int, count: int = 1) -> bool:
    """A reading at `at_us` comes sooner after the last one of its channel than a hand can press; of
    `count` readings told as one line, they do on the average.

    One that came before that (the clock was set back between two runs) does not.
    """
    return soon_in_row(state, channel, at_us, count) > 0


def soon_in_row(state: State, channel: str | None, at_us: int, count: int = 1) -> int:
    """How many in a row came too soon, with these `count` the last of which came at `at_us`."""
    last = state.arrivals.get(channel)
    if last is None:
        return 0
    return last.soon + count if 0 <= at_us - last.at_us < count * least_interval_us(state) else 0


def is_served(state: State, position: Position) -> bool:
    """The running stint's stack proves the gauge for this position's journal."""
    stint = state.stint
    return (
        stint is not None and state.scope.sizes[state.scope.stacks[position.journal]] == stint.size
    )


def next_position(state: State) -> Position | None:
    """The first place on the route that has no reading, or only a tainted one; None: all done."""
    route, index = state.scope.route, state.waiting.first
    return route[index] if index < len(route) else None


def first_unread(
    route: Sequence[Position],
    standing: SharedMap[Position, PartReading],
    skips: SharedMap[Position, int],
    start: int = 0,
) -> int:
    """Where on a route, from `start` on, the first place is that has no reading and is not skipped;
    the length of the route if there is none.
    """
    for index in range(start, len(route)):
        place = route[index]
        if place not in standing and place not in skips:
            return index
    return len(route)


def waiting_places(state: State) -> Waiting:
    """The places of the route that wait, by looking at all of them."""
    proofs, route = _proofs(state), state.scope.route
    unread_from = first_unread(route, state.standing, state.skips)
    again = (
        (index < unread_from or place in state.standing) and _waits(state, place, proofs)
        for index, place in enumerate(route)
    )
    return Waiting(unread_from, bits(again))


def is_part_done(state: State) -> bool:
    """No place of the whole plan is left to measure, whichever gauge reaches it."""
    proofs = _proofs(state)
    return not any(
        _waits(state, place, proofs)
        for journal in state.plan.journals
        for place in planned(journal)
    )


def _waits(state: State, place: Position, proofs: Proofs) -> bool:
    """A place that has no reading, and is not skipped, or only a tainted one."""
    taken = state.standing.get(place)
    if taken is None:
        return place not in state.skips
    return not _is_of_running_stint(state, taken) and _fate(state, taken, proofs) == "tainted"


def _is_of_running_stint(state: State, taken: PartReading) -> bool:
    """A failed check ends its stint, so nothing of the running one is tainted."""
    stint = state.stint
    return stint is not None and not stint.is_over and taken.stint == stint.event.stint


def fate(state: State, taken: PartReading) -> str:
    """`proven`, `tainted` or still `open`: by the next check of its stint, else by its end."""
    return _fate(state, taken, _proofs(state))


def fates(state: State, taken: Iterable[PartReading] | None = None) -> Mapping[int, str]:
    """The fate of each of these readings by its line; None: of all that stand."""
    proofs = _proofs(state)
    of = state.standing.values() if taken is None else taken
    return {each.seq: _fate(state, each, proofs) for each in of}


def _proofs(state: State) -> Proofs:
    """The checks that prove what came before them, by stint: their lines, and whether they passed.
    A before-check proves nothing that is past.
    """
    found: dict[int, tuple[list[int], list[bool]]] = {}
    for judged in state.judged:
        if judged.event.phase != "before":
            lines, passed = found.setdefault(judged.event.stint, ([], []))
            lines.append(judged.seq)
            passed.append(judged.event.passed)
    return found


def _fate(state: State, taken: PartReading, proofs: Proofs) -> str:
    lines, passed = proofs.get(taken.stint, ((), ()))
    following = bisect_right(lines, taken.seq)
    if following < len(lines):
        return "proven" if passed[following] else "tainted"
    return "tainted" if taken.stint in state.over_stints else "open"


def find_position(state: State, text: str) -> Position:
    """The position called JOURNAL/STATION/ANGLE[/REPEAT], or in the same order as people write it:
    "m2 front 45". Raises Refused with what is known.
    """
    route = state.scope.route
    parts = [part.strip() for part in text.split("/")]
    if len(parts) in (3, 4) and all(n.isdecimal() and len(n) <= MOST_DIGITS for n in parts[2:]):
        wanted = Position(parts[0], parts[1], *map(int, parts[2:]))
        if wanted in route:
            return wanted
    found = _named(route, _as_said(text)) or _named(route, _as_said(text).casefold(), str.casefold)
    if len(found) == 1:
        return found[0]
    if found:
        which = " or ".join(map(str, found[:2]))
        raise Refused("unknown-place", f"{text[:60]!r} may be {which}: write it like that")
    example = route[0]
    raise Refused(
        "unknown-place",
        f"there is no place {text[:60]!r} here. Type it like {example.spoken}",
    )


_BETWEEN = re.compile(r"[/,;°\s]+")


def _as_said(text: str) -> str:
    """A place with one space between its words, whatever people put there."""
    words = _BETWEEN.sub(" ", text).split()
    return " ".join(word for word in words if word.casefold() not in ("deg", "repeat"))


def _named(
    route: Iterable[Position], said: str, fold: Callable[[str], str] = str
) -> list[Position]:
    """The places of the route that are called so; the repeat may be left out of the first one."""
    found = []
    for at in route:
        name = fold(_as_said(f"{at.journal} {at.station} {at.angle_deg}"))
        if said == f"{name} {at.repeat}" or (at.repeat == 1 and said == name):
            found.append(at)
    return found


def last_taken(state: State) -> PartReading | None:
    """The latest standing reading of the part."""
    standing = state.standing
    return next((t for t in reversed(state.readings) if standing.get(t.position) is t), None)


def standing_readings(state: State) -> list[PartReading]:
    """All that stand, in the order in which they were taken."""
    return sorted(state.standing.values(), key=_line)


def reading_of(state: State, line: int) -> PartReading | None:
    """The reading of the part that a line holds; None if it holds none."""
    found = state.readings.found(_line, line)
    if found is not None or state.is_as_run:
        return found
    # A record made by hand may have another reading between one that was held and its being kept.
    return next((each for each in state.readings if each.seq == line), None)


def _line(taken: PartReading) -> int:
    return taken.seq
