"""Presses that nobody meant, in whole sessions on virtual time: a hand that presses twice, a
contact that bounces, a gauge left streaming. Whatever their spacing, what counts was taken at its
own place.

The hand is the truth: each frame says as its bytes what lay between the anvils when it was sent.
"""

import heapq
from collections.abc import Callable
from decimal import Decimal

import msgspec
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from daq.lengths import Position
from daq.record.advance import Advance
from daq.record.events import Entry
from daq.record.evolve import begin
from daq.record.state import STACK, State, standing_readings, target
from daq.rules.commands import Command, Drop, TakeReading
from daq.rules.decide import decide, settle
from daq.rules.interval import STREAMS
from daq.rules.unattended import unattended
from tests.builders import ONE, PLAN, START_US, opened, reading

LONGEST_US = 600_000_000
"""A session that is not over after ten minutes of its own time is left as it is."""

AGAIN_US = 1_000_000
"""So long after a press that was not taken the hand presses again."""


class Fault(msgspec.Struct, frozen=True):
    """What a press does besides: `extras` are the times from frame to frame behind it in ms, each
    under the least interval; `stream_ms` the period of a stream that it begins, for `lasts_ms`.
    `off_um` is how far each further value lies from the one before.
    """

    extras: tuple[int, ...] = ()
    stream_ms: int = 0
    lasts_ms: int = 0
    off_um: int = 0


class Hand:
    """An operator who follows the prompt: moves, presses, and drops what is asked about."""

    def __init__(
        self, plan: str, faults: dict[int, Fault], moves_ms: int, answers_ms: int | None
    ) -> None:
        first = Entry(1, START_US, opened(plan))
        self.state: State = settle(Advance(begin(first, "the plan"), START_US, (first,))).state
        self._faults = faults
        self._moves_us, self._answers_us = moves_ms * 1000, answers_ms
        self._due: list[tuple[int, int, Callable[[int], None]]] = []
        self._count = self._presses = 0
        self._at: Position | str | None = None
        self._asked: Position | str | None = None
        self._streams_until = 0

    def measure(self) -> "Hand":
        """Until the session is closed, or long enough."""
        self._look(START_US)
        while self.state.closed is None and self._due:
            now_us, _, what = heapq.heappop(self._due)
            if now_us - START_US > LONGEST_US:
                break
            what(now_us)
        return self

    @property
    def misplaced(self) -> list[str]:
        """What counts and was taken elsewhere."""
        checks = [(STACK, each.sent) for each in self.state.checks]
        places = [(str(each.position), each.sent) for each in standing_readings(self.state)]
        return [
            f"{bytes.fromhex(sent.raw_hex).decode()} for {where}"
            for where, sent in (*checks, *places)
            if bytes.fromhex(sent.raw_hex).decode() != where
        ]

    def _later(self, at_us: int, what: Callable[[int], None]) -> None:
        self._count += 1
        heapq.heappush(self._due, (at_us, self._count, what))

    def _look(self, now_us: int) -> None:
        """Read the prompt: where it asks for another place, move there and press."""
        asked = target(self.state)
        if asked != self._asked:
            self._asked = asked
            self._later(now_us + self._moves_us, self._arrive)

    def _arrive(self, now_us: int) -> None:
        self._at = self._asked
        self._press(now_us)

    def _press(self, now_us: int) -> None:
        if self._at != self._asked or self.state.closed is not None:
            return  # on the way elsewhere by now
        fault = self._faults.get(self._presses, Fault())
        self._presses += 1
        self._send(now_us, 0)
        at_us = now_us
        for number, after_ms in enumerate(fault.extras, 1):
            at_us += after_ms * 1000
            self._later(at_us, self._sender(number * fault.off_um))
        if fault.stream_ms:
            self._streams_until = now_us + fault.lasts_ms * 1000
            self._later(now_us + fault.stream_ms * 1000, self._streamer(fault))
        self._later(now_us + AGAIN_US, self._press_again(self._at))

    def _press_again(self, where: Position | str | None) -> Callable[[int], None]:
        def again(now_us: int) -> None:
            # Asked for the same still: another reading of the stack, or the last was not taken.
            if self._asked == where and now_us >= self._streams_until:
                self._press(now_us)
            elif self._asked == where:
                self._later(now_us + AGAIN_US, again)

        return again

    def _sender(self, off_um: int) -> Callable[[int], None]:
        return lambda now_us: self._send(now_us, off_um)

    def _streamer(self, fault: Fault) -> Callable[[int], None]:
        def stream(now_us: int) -> None:
            if now_us < self._streams_until and self.state.closed is None:
                self._send(now_us, fault.off_um)
                self._later(now_us + fault.stream_ms * 1000, stream)

        return stream

    def _send(self, now_us: int, off_um: int) -> None:
        """A frame of what is between the anvils now."""
        value = Decimal(_true(self._at)) + Decimal(off_um) / 1000
        made = reading(f"{value:.3f}", now_us, raw=str(self._at).encode())
        self._take(TakeReading(made), now_us)

    def _take(self, command: Command, now_us: int) -> None:
        if self.state.closed is not None:
            return
        advance = decide(self.state, command, now_us)
        was_asking, self.state = self.state.held is not None, advance.state
        if self._answers_us is None:
            follows = unattended(self.state, advance.entries)
            if follows is not None:
                self._take(follows, now_us)
        elif self.state.held is not None and not was_asking:
            self._later(now_us + self._answers_us * 1000, self._drop)
        self._look(now_us)

    def _drop(self, now_us: int) -> None:
        if self.state.held is not None:
            self._take(Drop(), now_us)


def _true(where: Position | str | None) -> str:
    """The size there: all within one window, so that only its time gives a reading away."""
    if isinstance(where, Position):
        return "59.980" if where.journal == "M1" else "50.790"
    return "59.970"


under = st.integers(0, 699)
extras = st.builds(
    Fault,
    extras=st.lists(under, min_size=1, max_size=4).map(tuple),
    off_um=st.integers(0, 1),
)
streams = st.builds(
    Fault,
    stream_ms=st.integers(5, 699),
    lasts_ms=st.integers(100, 60_000),
    off_um=st.integers(0, 1),
)
# Which presses go wrong: those of a whole session of ONE are eight, two checks of two among them.
faults = st.dictionaries(st.integers(0, 9), extras | streams, min_size=1, max_size=4)


@settings(max_examples=200)
@given(faults, st.integers(701, 3000), st.none() | st.integers(50, 3000))
@example({0: Fault(stream_ms=100, lasts_ms=60_000)}, 1000, None)
@example({0: Fault(stream_ms=100, lasts_ms=5_000)}, 1000, 400)
@example({1: Fault(extras=(350, 350, 350))}, 1000, None)
@example({2: Fault(extras=(160,))}, 1000, None)
@example({3: Fault(extras=(699, 699, 699))}, 701, 50)
@example({5: Fault(stream_ms=350, lasts_ms=20_000)}, 1000, 100)
def test_whatever_the_spacing_nothing_counts_that_was_taken_elsewhere(
    faulty: dict[int, Fault], moves_ms: int, answers_ms: int | None
) -> None:
    hand = Hand(ONE, faulty, moves_ms, answers_ms).measure()
    assert hand.misplaced == []


@pytest.mark.parametrize("answers_ms", [None, 300])
@pytest.mark.parametrize("after_ms", [5, 20, 160, 350, 699])
def test_a_session_of_double_presses_comes_out_right_all_the_same(
    after_ms: int, answers_ms: int | None
) -> None:
    every = dict.fromkeys(range(20), Fault(extras=(after_ms,), off_um=1))
    hand = Hand(ONE, every, 1500, answers_ms).measure()
    assert hand.misplaced == []
    assert hand.state.closed is not None
    assert hand.state.closed.verdict == "accepted"


AGAIN = ONE.replace("[defaults]\n", '[defaults]\nheld = "press-again"\n')


@given(faults, st.integers(701, 12_000), st.integers(50, 12_000))
@example({1: Fault(extras=(350, 350, 350))}, 1000, 12_000)
@example({2: Fault(extras=(160,))}, 1000, 12_000)
@example({2: Fault(stream_ms=350, lasts_ms=20_000)}, 1000, 12_000)
@example({3: Fault(extras=(699, 699, 699))}, 701, 12_000)
def test_where_a_second_press_answers_nothing_counts_that_was_taken_elsewhere_either(
    faulty: dict[int, Fault], moves_ms: int, answers_ms: int
) -> None:
    hand = Hand(AGAIN, faulty, moves_ms, answers_ms).measure()
    assert hand.misplaced == []


@pytest.mark.parametrize("moves_ms", [1100, 1500, 9_000])
@pytest.mark.parametrize("after_ms", [5, 20, 160, 299])
def test_there_double_presses_within_a_check_or_a_journal_come_out_right_without_a_word(
    after_ms: int, moves_ms: int
) -> None:
    """Twice at the first of each two: stack, journal, stack. After the second of two the sizes lie
    10 steps apart, and only a word answers.
    """
    first = dict.fromkeys((0, 2, 4), Fault(extras=(after_ms,), off_um=1))
    hand = Hand(AGAIN, first, moves_ms, LONGEST_US // 1000).measure()
    assert hand.misplaced == []
    assert hand.state.closed is not None
    assert hand.state.closed.verdict == "accepted"


@pytest.mark.parametrize("every_ms", [5, 100, 299, 300, 350, 699])
@pytest.mark.parametrize("press", range(4))
def test_a_stream_that_goes_on_is_never_accepted_by_itself(every_ms: int, press: int) -> None:
    """Left on at either reading of the stack, or at either place."""
    stream = {press: Fault(stream_ms=every_ms, lasts_ms=600_000)}
    hand = Hand(ONE, stream, 1500, None).measure()
    assert hand.misplaced == []
    assert hand.state.closed is not None
    assert hand.state.closed.verdict == "abandoned"
    assert STREAMS in hand.state.closed.reasons[0]


def test_without_the_least_interval_the_same_presses_fill_other_places() -> None:
    """So that these tests can fail: the hand's double press lands on the place behind."""
    plan = ONE.replace("[defaults]\n", '[defaults]\nleast_interval = "0 s"\n')
    hand = Hand(plan, {2: Fault(extras=(160,))}, 1500, None).measure()
    assert hand.misplaced == ["M1/front/0 for M1/front/90"]


def test_two_stacks_in_one_plan_are_no_way_around_it() -> None:
    """The rods' stack is not within the window of the mains' sizes; its check still waits for a
    hand that changes it.
    """
    every = dict.fromkeys(range(40), Fault(extras=(350, 350)))
    assert Hand(PLAN, every, 1500, None).measure().misplaced == []
