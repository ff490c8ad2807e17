"""Replay is the session: any commands, their lines read again, give the state that was live; and
after every step the rules of a session hold.
"""

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory

import msgspec
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from daq.acquisition.manager import SessionManager
from daq.board.asked import prompt
from daq.board.messages import news
from daq.board.of_session import progress
from daq.errors import Refused
from daq.record.advance import Advance
from daq.record.events import (
    CheckJudged,
    CheckRead,
    Closed,
    Entry,
    Held,
    Opened,
    Read,
    StintBegan,
    Zeroed,
)
from daq.record.evolve import begin, evolve
from daq.record.state import State, Status, fates, next_position, phase, status
from daq.rules.commands import (
    Abandon,
    Back,
    CheckNow,
    Command,
    Drop,
    GaugeZeroed,
    GiveUp,
    Keep,
    Later,
    LoseLink,
    Note,
    Retake,
    SetAside,
    Skip,
    StopHere,
    TakeReading,
    TakeReject,
    TimePassed,
)
from daq.rules.decide import decide, settle
from daq.rules.resume import resume
from daq.services.verify import verify
from daq.storage.chain import START, sealed
from daq.storage.ledger import scan, scan_bytes
from daq.storage.ledger_codec import body_of
from daq.storage.replay import replay, replay_entries
from drivers.reading import Reading
from tests.builders import MINUTE_US, ONE, PLAN, SECOND_US, START_US, opened, reading, setup
from tests.builders import reading as made_reading
from tests.builders import reject as made_reject

FOLDER = Path("session")
SOURCE = f"{FOLDER} (plan in the record)"
"""What the plan is called in messages; the one part of a state that is no record."""


class Press(msgspec.Struct, frozen=True):
    """Send is pressed, so long after what was before; the raw bytes are made unique by whoever
    plays it.
    """

    value: str
    unit: str = "mm"
    resolution: str = "0.001"
    channel: str | None = None
    flags: tuple[str, ...] = ()
    after_us: int = SECOND_US


class Right(msgspec.Struct, frozen=True):
    """Send is pressed so often, each time with a good value of what is asked for."""

    times: int


class Wait(msgspec.Struct, frozen=True):
    """Time passes."""

    us: int


class Again(msgspec.Struct, frozen=True):
    """The program ends and another run resumes."""

    device: str
    same_gauge: str | None = None


Move = Press | Right | Wait | Again | Command

# The plan's stack for the mains is 59.970, for the rods 50.780; limits up to 59.990 and 50.800.
GOOD = [
    Press("59.970"),
    Press("59.971"),
    Press("59.980"),
    Press("59.983"),
    Press("50.780"),
    Press("50.781"),
    Press("50.790"),
]
ODD = [
    Press("59.950"),  # under the low limit, within the window
    Press("59.976"),  # over every check limit of 0.002
    Press("2.3614", unit="in", resolution="0.0001"),
    Press("59.98", resolution="0.01"),  # a lost digit
    Press("65.000"),  # outside the window
    Press("0.004"),  # a deviation instead of a size
    Press("59.980", flags=("repeat",)),
    Press("59.980", channel="2"),
    Press("59.970", flags=("zeroed",)),
    Press("59.980", unit="kg"),
    Press("59.980", unit=""),
    Press("59.981", after_us=160_000),  # pressed twice
    Press("59.970", after_us=350_000),  # quick enough for a check, too quick for a place
]
WORDS: list[Command] = [
    TakeReject(made_reject(b"\xff\x00")),
    TakeReject(made_reject(b"a"), 500, b"z"),
    SetAside(made_reading("59.980", raw=b"a"), "why", 500, made_reading("59.980", raw=b"z")),
    Back(),
    Retake("M1/front/0"),
    Retake("R1/middle/90/1"),
    Retake("nowhere"),
    Retake("M1/front/        0"),
    Retake("M1/front/\u00b2"),
    Skip("behind the key"),
    Note("warm"),
    Keep(),
    Drop(),
    CheckNow(),
    GaugeZeroed(),
    StopHere("the shift ends"),
    Later(),
    Abandon("dropped it"),
    GiveUp("nobody there"),
    TimePassed(),
    LoseLink("unplugged"),
]
PAUSES = [Wait(MINUTE_US), Wait(59 * MINUTE_US), Wait(61 * MINUTE_US), Wait(24 * 60 * MINUTE_US)]
RESUMES = [Again("usb-1"), Again("usb-2"), Again("usb-2", "moved to another socket")]

ENDINGS = (StopHere, Abandon, GiveUp)
MOVES: st.SearchStrategy[Move] = st.one_of(
    st.builds(Right, st.integers(1, 6)),
    st.builds(Right, st.integers(1, 6)),
    st.sampled_from([*GOOD, *ODD]),
    st.sampled_from([word for word in WORDS if not isinstance(word, ENDINGS)]),
    st.sampled_from([Keep(), Drop(), Back(), *PAUSES, *RESUMES]),
)
# Endings are rare, or no session would grow long; a before-check first, or none would begin.
STARTS: list[list[Move]] = [[], [GOOD[0]], [GOOD[0], GOOD[1]], [GOOD[0], GOOD[0], GOOD[2], GOOD[3]]]
RUNS: st.SearchStrategy[list[Move]] = st.builds(
    lambda start, middle, end: [*start, *middle, *end],
    st.sampled_from(STARTS),
    st.lists(MOVES, max_size=8) | st.lists(MOVES, min_size=12, max_size=40),
    st.lists(st.sampled_from([*WORDS, Right(2), Right(40)]), max_size=4),
)

# What each status allows, typed by hand from the written rules.
EVERYWHERE: set[type[Command]] = {
    TakeReading,
    SetAside,
    TakeReject,
    Note,
    Abandon,
    GiveUp,
    TimePassed,
    LoseLink,
}
TABLE: dict[Status, set[type[Command]]] = {
    Status.WAITING: EVERYWHERE | {Back, GaugeZeroed, StopHere, Later},
    Status.MEASURING: EVERYWHERE | {Back, Retake, Skip, CheckNow, GaugeZeroed, StopHere, Later},
    Status.CHECKING: EVERYWHERE | {Back, Retake, GaugeZeroed, StopHere, Later},
    Status.CLOSING: EVERYWHERE | {Back, Retake, GaugeZeroed, StopHere, Later},
    Status.ASKING: EVERYWHERE | {Keep, Drop},
    Status.OVER: EVERYWHERE | {StopHere},
    Status.CLOSED: set(),
}


class Played:
    """A session played without a file: decide, evolve, seal."""

    def __init__(self, first: Opened) -> None:
        self.now_us = START_US
        entry = Entry(1, self.now_us, first)
        self.state = begin(entry, SOURCE)
        self.entries = [entry]
        self.data, self.chain = b"", START
        self._seal([entry])
        self.snapshots = [(1, self.state)]
        self.sent: list[str] = []
        self.take(settle(Advance(self.state, self.now_us)))

    def take(self, advance: Advance) -> None:
        """Fold what it says happened, apart from it: the state that came with it is the same."""
        entries, before = list(advance.entries), self.state
        for entry in entries:
            self.state = evolve(self.state, entry)
        assert self.state == advance.state
        self._seal(entries)
        self.entries += entries
        self.snapshots.append((len(self.entries), self.state))
        # Whatever is shown of it can be said.
        assert prompt(self.state).headline
        assert len(news(before, entries, self.state, {})) <= 3 * len(entries)
        assert progress(self.state) <= len(self.state.scope.route)

    def _seal(self, entries: Sequence[Entry]) -> None:
        for entry in entries:
            line, self.chain = sealed(body_of(entry), self.chain)
            self.data += line + b"\n"

    def play(self, move: Move) -> None:
        """One move; a Refused leaves everything as it was."""
        if isinstance(move, Right):
            for _ in range(move.times):
                self.play(right(self.state))
            return
        self.now_us += move.after_us if isinstance(move, Press) else SECOND_US
        if isinstance(move, Wait):
            self.now_us += move.us
            move = TimePassed()
        if isinstance(move, Again):
            self._again(move)
            return
        command: Command
        if isinstance(move, Press):
            raw = b"%06d" % len(self.sent)
            command = TakeReading(pressed(move, self.now_us, raw))
        else:
            command = move
        now, before = status(self.state), self.state
        refused, advance = decided(self.state, command, self.now_us)
        if refused is not None:
            is_by_table = refused.code == f"not-while-{now.value}"
            assert is_by_table is (type(command) not in TABLE[now])
            assert str(refused)
            assert self.state is before
            return
        assert type(command) in TABLE[now]
        if isinstance(command, TakeReading):
            self.sent.append(command.reading.raw.hex())
        self.take(advance)

    def _again(self, move: Again) -> None:
        if self.state.closed is not None:
            return
        run = setup(move.device)
        self.take(resume(self.state, run, self.now_us, same_gauge=move.same_gauge))
        assert status(self.state) not in (Status.MEASURING, Status.ASKING), (
            "a resume begins with a check"
        )


def decided(state: State, command: Command, at_us: int) -> tuple[Refused | None, Advance]:
    """The refusal, or what it leads to; anything else that is raised fails the test."""
    try:
        return None, decide(state, command, at_us)
    except Refused as refused:
        return refused, Advance(state, at_us)


def right(state: State) -> Press:
    """A good reading of what is asked for: the stack, or 0.010 mm over the low limit."""
    stack_is_mains = state.stint is not None and state.stint.size.mm == Decimal("59.970")
    following = next_position(state)
    if phase(state) is not None or following is None:
        return Press("59.970" if stack_is_mains else "50.780")
    return Press("59.980" if following.journal == "M1" else "50.790")


def pressed(press: Press, at_us: int, raw: bytes) -> Reading:
    """The reading of a press."""
    return reading(
        press.value,
        at_us,
        unit=press.unit,
        resolution=press.resolution,
        channel=press.channel,
        flags=press.flags,
        raw=raw,
    )


def sent_in(entries: Sequence[Entry]) -> list[str]:
    """The raw bytes of every line that holds a reading's value."""
    return [e.event.sent.raw_hex for e in entries if isinstance(e.event, Read | CheckRead | Held)]


def fate_by_the_record(entries: Sequence[Entry], seq: int, stint: int) -> str:
    """Proven or tainted by the next check of the reading's stint that is not its before-check;
    tainted where the stint ends without one; else still open.
    """
    for entry in entries[seq:]:
        match entry.event:
            case CheckJudged(stint=of, phase=when, passed=passed) if of == stint:
                if when != "before":
                    return "proven" if passed else "tainted"
            case StintBegan() | Zeroed() | Closed():
                return "tainted"
            case _:
                pass
    return "open"


def played(plan: str, moves: Sequence[Move]) -> Played:
    """A session played to the end of `moves`, the rules being held after every step."""
    session = Played(opened(plan))
    known: dict[int, str] = {}
    for move in moves:
        was_closed = session.state.closed is not None
        session.play(move)
        state = session.state
        now = fates(state)
        for seq, fate in now.items():
            assert fate == known.get(seq, fate) or known[seq] == "open", "a fate went back"
        known |= now
        for taken in state.standing.values():
            assert now[taken.seq] == fate_by_the_record(session.entries, taken.seq, taken.stint)
        assert sent_in(session.entries) == session.sent, "each reading once, in order"
        if state.closed is not None and not was_closed:
            _closes_rightly(state)
        if was_closed:
            assert session.state.closed is not None
    return session


def _closes_rightly(state: State) -> None:
    assert state.closed is not None
    found = set(fates(state).values())
    assert "open" not in found or state.closed.verdict != "accepted"
    passed = any(j.event.passed and j.event.phase == "before" for j in state.judged)
    if state.closed.verdict == "accepted":
        assert found <= {"proven"}
        assert passed
    assert state.closed.verdict in ("accepted", "rejected", "abandoned")
    assert state.closed.reasons
    assert [result.journal for result in state.closed.journals] == [
        journal.name for journal in state.plan.journals
    ]


KILLED_WHILE_ASKING: list[Move] = [GOOD[0], GOOD[0], Press("65.000")]


@settings(max_examples=150)
@given(st.sampled_from([PLAN, ONE]), RUNS, st.data())
@example(PLAN, [*KILLED_WHILE_ASKING, Again("usb-1"), Keep()], None)
@example(PLAN, [*KILLED_WHILE_ASKING, Again("usb-2"), Keep()], None)
@example(PLAN, [*KILLED_WHILE_ASKING, Wait(61 * MINUTE_US), Again("usb-1"), Keep()], None)
@example(PLAN, [GOOD[0], GOOD[0], Retake("M1/front/        0")], None)
@example(PLAN, [GOOD[0], GOOD[0], Press("59.980", unit="kg"), Keep()], None)
def test_replay_of_any_prefix_and_the_rest_equals_the_live_state(
    plan: str, moves: list[Move], data: st.DataObject | None
) -> None:
    session = played(plan, moves)
    found = scan_bytes(session.data, FOLDER)
    assert list(found.entries) == session.entries
    assert replay_entries(found.entries, FOLDER) == session.state
    # At the end of any step, a cut ledger gives the state that was live then.
    count, live = (
        session.snapshots[len(session.snapshots) // 2]
        if data is None
        else data.draw(st.sampled_from(session.snapshots))
    )
    cut = b"".join(session.data.splitlines(keepends=True)[:count])
    prefix = scan_bytes(cut, FOLDER)
    state = replay(prefix, FOLDER)
    assert state == live
    for entry in session.entries[count:]:
        state = evolve(state, entry)
    assert state == session.state


@settings(max_examples=80)
@given(RUNS, st.data())
def test_a_ledger_cut_inside_a_step_can_still_be_resumed(
    moves: list[Move], data: st.DataObject
) -> None:
    session = played(ONE, moves)
    count = data.draw(st.integers(1, len(session.entries)))
    entries = session.entries[:count]
    state = replay_entries(entries, FOLDER)
    if state.closed is not None:
        return
    resumed = resume(state, setup(), session.now_us + SECOND_US)
    assert resumed.entries[0].seq == count + 1
    assert status(resumed.state) not in (Status.MEASURING, Status.ASKING)
    assert sent_in(entries) == session.sent[: len(sent_in(entries))]


@settings(max_examples=50)
@given(st.sampled_from([PLAN, ONE]), RUNS)
def test_the_manager_stores_what_it_shows_and_verify_finds_no_fault(
    plan: str, moves: list[Move]
) -> None:
    with TemporaryDirectory() as name:
        folder = Path(name) / "s"
        now_us, shown, sent = START_US, list[Entry](), list[str]()
        manager, step = SessionManager.create(folder, opened(plan), now_us)
        shown += step.entries
        queue = list(moves)
        while queue:
            move = queue.pop(0)
            command: Command
            if isinstance(move, Right):
                if move.times > 1:
                    queue.insert(0, Right(move.times - 1))
                move = right(manager.state)
            now_us += move.after_us if isinstance(move, Press) else SECOND_US
            match move:
                case Wait():
                    now_us += move.us
                    command = TimePassed()
                case Press():
                    raw = b"%06d" % len(sent)
                    command = TakeReading(pressed(move, now_us, raw))
                case Again():
                    manager.close()
                    if manager.state.closed is None:
                        manager, step = SessionManager.resume(
                            folder, setup(move.device), now_us, move.same_gauge
                        )
                        shown += step.entries
                    continue
                case _:
                    command = move
            before, chain = manager.state, manager.chain
            try:
                step = manager.submit(command, now_us)
            except Refused:
                assert manager.state is before
                assert manager.chain == chain
                continue
            shown += step.entries
            if isinstance(command, TakeReading):
                sent.append(command.reading.raw.hex())
        manager.close()
        found = scan(folder)
        assert list(found.entries) == shown
        assert found.chain == manager.chain
        state = begin(found.entries[0], manager.state.plan.source)
        for entry in found.entries[1:]:
            state = evolve(state, entry)
        assert state == manager.state
        assert replay(found, folder).standing == manager.state.standing
        assert sent_in(shown) == sent
        finding = verify(folder)
        assert finding.faults == ()
        # Only the manager ran here, which writes no tables.
        assert all("without its tables" in note for note in finding.notes)


@pytest.mark.parametrize("now", list(TABLE), ids=[now.value for now in TABLE])
@pytest.mark.parametrize("command", WORDS, ids=[type(word).__name__ for word in WORDS])
def test_each_status_allows_what_the_table_says_and_nothing_else(
    now: Status, command: Command
) -> None:
    ways: dict[Status, list[Move]] = {
        Status.WAITING: [],
        Status.MEASURING: [GOOD[0], GOOD[0], GOOD[2]],
        Status.CHECKING: [GOOD[0], GOOD[0], GOOD[2], CheckNow()],
        Status.CLOSING: [GOOD[0], GOOD[0], GOOD[2], GOOD[2]],
        Status.ASKING: [GOOD[0], GOOD[0], Press("65.000")],
        Status.OVER: [GOOD[0], GOOD[0], GOOD[2], Later(), GOOD[0], GOOD[0]],
        Status.CLOSED: [Abandon("x")],
    }
    session = played(ONE, ways[now])
    assert status(session.state) is now
    session.play(command)  # holds the table itself
