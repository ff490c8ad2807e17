"""A run of a session: who owns its state, stores what comes, and shows each step as a board."""

import threading
from typing import Protocol

import msgspec

from daq.acquisition.aside_fold import AsideFold
from daq.acquisition.hand_typed import HandTyped, not_taken
from daq.acquisition.manager import SessionManager, Step
from daq.acquisition.reject_fold import RejectFold
from daq.board.asked import PRESS_SEND, page_fault
from daq.board.board import Board
from daq.board.of_session import SessionShown, first_shown, next_shown
from daq.equipment.gauge import TYPED_PORT
from daq.errors import Refused
from daq.record.events import AnyEvent, By, GaugeSource, StintBegan, Zeroed, is_by_hand
from daq.record.state import (
    State,
    Status,
    held_in,
    least_interval_us,
    sent_mm,
    status,
    target,
)
from daq.rules.commands import (
    Back,
    Command,
    FindLink,
    LinkNote,
    LoseLink,
    Note,
    SetAside,
    TakeReading,
    TakeReject,
    TimePassed,
    Why,
    parse_line,
)
from daq.rules.interval import early_words
from daq.rules.plausibility import is_expected, sent, zero_lost
from daq.rules.press_again import LONGEST_US, can_be_pressed, why_no_answer
from daq.rules.typed_value import is_value, typed_in
from daq.rules.unattended import unattended
from drivers.clock import Clock
from drivers.errors import PortLost
from drivers.gauge.reader import GaugeBack
from drivers.reading import Instant, Reading, Reject

_ASKS = (Status.WAITING, Status.MEASURING, Status.CHECKING, Status.CLOSING)


class Show(Protocol):
    """Where a run is shown; every call comes after the sync."""

    def begun(self, board: Board) -> None:
        """The port is open and the session stands."""
        ...

    def step(self, board: Board, step: Step) -> None:
        """Lines were stored; `board` is how things stand now."""
        ...

    def refused(self, reason: str) -> None:
        """The operator asked for something that cannot be done now."""
        ...

    def advice(self, text: str) -> None:
        """Something about the link is worth saying."""
        ...

    def streamed(self, reading: Reading) -> None:
        """A reading that nobody asked for: shown, not stored."""
        ...


class SessionRun:
    """The owner of one run of a session: it alone submits commands to its manager.

    `first` holds the lines that opening the run has stored already; `press` says how a reading is
    given, and `can_send` that a press here takes one.

    What came, or was pressed for, before a prompt was shown is no reading of it: at the start, and
    wherever an answer, a lost link or a check grown too old asks for something else than what the
    operator had before them. Where a reading itself leads on along the route the least interval
    rules, and who measures blind is not put off by a slow disk.
    """

    def __init__(
        self,
        manager: SessionManager,
        first: Step,
        clock: Clock,
        show: Show,
        *,
        is_attended: bool,
        press: str = PRESS_SEND,
        can_send: bool = False,
    ) -> None:
        self._manager = manager
        self._first = first
        self._clock = clock
        self._show = show
        self._is_attended = is_attended
        self._rejects = RejectFold()
        self._asides = AsideFold()
        self._hand = HandTyped(is_twice=manager.state.plan.taking.is_typed_twice)
        self._shown_ns = 0  # when the prompt was shown that something else than a reading led to
        self._shown: SessionShown = first_shown(
            manager.state, clock.now().utc_us, first.entries, press, can_send=can_send
        )

    @property
    def needs(self) -> str:
        """What to do where nobody is left to trigger a reading."""
        if self.state.setup.source.port == TYPED_PORT:
            return "Resume the session to type the rest."
        return "Resume the session with a keyboard, or with --send-key or --stable."

    @property
    def board(self) -> Board:
        """How things stand now."""
        return self._shown.board

    @property
    def state(self) -> State:
        """What the ledger says now."""
        return self._manager.state

    @property
    def is_done(self) -> bool:
        """Closed, or open with no stint running."""
        return self._manager.is_done

    def begin(self) -> None:
        """Show what opening the run has stored."""
        self._shown_ns = self._clock.now().mono_ns
        self._show.begun(self.board)
        self._show.step(self.board, self._first)
        self._stand_in(Step((), ()))  # the first lines are the run's own doing

    def patience_s(self) -> float | None:
        """Until what was only counted is told, the last passed check is too old, or a press answers
        for nothing any more.
        """
        waits = [1.0] if self._rejects.has_pending or self._asides.has_pending else []
        state = self.state
        stint = state.stint
        if status(state) is Status.MEASURING and stint and stint.last_passed_us:
            due_us = stint.last_passed_us + state.plan.check.max_age_us
            left_s = (due_us - self._clock.now().utc_us) / 1e6 + 0.001
            waits.append(min(max(left_s, 0.0), threading.TIMEOUT_MAX))
        if self.board.press_answers:
            late_us = held_in(state).at_us + LONGEST_US - self._clock.now().utc_us
            waits.append(min(max(late_us / 1e6, 0.0) + 0.001, threading.TIMEOUT_MAX))
        return min(waits, default=None)

    def counts(self, reading: Reading, why: Why | None) -> bool:
        """Of a stream a reading counts if it was pressed for, or rested where a size is expected (a
        gauge that lies open on the bench rests too), or says that the zero is lost.
        """
        state = self.state
        if why not in ("rested", None) or zero_lost(state, reading.flags):
            return True
        mm = sent_mm(sent(reading))
        is_asked = status(state) in _ASKS
        return why == "rested" and mm is not None and is_asked and is_expected(state, mm)

    def take_reading(self, reading: Reading, why: Why, wanted: Instant) -> None:
        """Store a reading; it ends a row of rejects, and if it counts one of those set aside. One
        that cannot count is counted where many came in a row.
        """
        aside = self._why_aside(reading, why, wanted)
        if aside:
            command = self._asides.take(reading, aside)
            if command is not None:
                self.submit(command, reading.at)
            return
        self.flush()
        self._rejects.reading_came()
        self.submit(TakeReading(reading, why), reading.at)
        if self.state.held is None:
            self._asides.one_counted()

    def _why_aside(self, reading: Reading, why: Why, wanted: Instant) -> str:
        """Why a reading cannot count; empty if it may. A gauge that types is as quick as the lines
        of whoever answers.
        """
        if self.state.held is not None:
            before_us = self._asides.last_us(reading.channel)
            came_us = reading.at.utc_us
            said = why_no_answer(self.state, sent(reading), why, came_us, before_us)
            if said:
                return said
        if why != "typed" and wanted.mono_ns < self._shown_ns:
            return early_words(target(self.state), why)
        return ""

    def least_interval_us(self) -> int:
        """How soon a press may follow another by now."""
        return least_interval_us(self.state)

    def streamed(self, reading: Reading) -> None:
        """Show a reading that is not stored."""
        self._show.streamed(reading)

    def take_reject(self, reject: Reject) -> None:
        """Store a reject, or count it where many came in a row."""
        command = self._rejects.take(reject)
        if command is not None:
            self.submit(command, reject.at)

    def advise(self, text: str) -> None:
        """Show a hint about the link."""
        self._show.advice(text)

    def note(self, text: str, at: Instant) -> None:
        """Store what the link met."""
        self.submit(LinkNote(text), at)

    def press_refused(self) -> str | None:
        """A held reading is to be answered first, if not by this very press."""
        now_us = self._clock.now().utc_us
        if self.state.held is None or can_be_pressed(self.state, now_us):
            return None
        return "a reading is in question: type keep or drop first"

    def refuse(self, words: str) -> None:
        """Show why something was not taken."""
        self._show.refused(words)

    def typed(self, text: str, at: Instant) -> None:
        """A line of the operator's."""
        try:
            self.say(text, at)
        except Refused as refused:
            self.refuse(str(refused))

    def page_fault(self, word: str, step: int) -> str:
        """Why a button of the page can do nothing now; empty if it can."""
        return page_fault(self.board, word, step)

    def say(self, text: str, at: Instant, by: By = "keyboard") -> None:
        """Do what a line says; raises Refused, and then nothing has happened. `by`: where it came
        from.
        """
        if is_by_hand(self.state.setup) and is_value(text):
            self._take_typed(text, at)
            return
        command = parse_line(text)
        if command is None or self._has_given_up(command, at):
            return
        self.flush()
        self._submit(command, at, by)

    def _take_typed(self, text: str, at: Instant) -> None:
        """A value that a person typed."""
        state = self.state
        if state.held is not None:
            self.take_reject(not_taken(text, at, "not-asked", "Type keep or drop first"))
            return
        for each in self._hand.take(text, at, typed_in(state), _asked(state)):
            if isinstance(each, Reading):
                self.take_reading(each, "typed", at)
            elif isinstance(each, Reject):
                self.take_reject(each)
            else:
                news = (f"Typed once: {each.value}.",)
                board = msgspec.structs.replace(self.board, news=news, cue="")
                self._shown = self._waiting(msgspec.structs.replace(self._shown, board=board))
                self._show.step(self.board, Step((), ()))

    def _waiting(self, shown: SessionShown) -> SessionShown:
        """What is shown, with a value that waits for being typed a second time, if one does."""
        first, board = self._hand.first, shown.board
        if first is None or first.asked != _asked(self.state):
            return shown
        asked = msgspec.structs.replace(board.asked, action=first.words)
        return msgspec.structs.replace(shown, board=msgspec.structs.replace(board, asked=asked))

    def _has_given_up(self, command: Command, at: Instant) -> bool:
        """Give up the value that was typed once, for a word that asks for something else; True if
        the word meant no more than that.
        """
        if isinstance(command, Note):
            return False
        given_up = self._hand.forget(at, "is taken back: it was typed only once")
        for each in given_up:
            self.take_reject(each)
        return bool(given_up) and isinstance(command, Back)

    def keyboard_gone(self) -> None:
        """From now on the send button drives everything."""
        self._is_attended = False
        self._stand_in(Step((), ()))

    def lose(self, lost: PortLost, at: Instant, *, is_waited_for: bool) -> None:
        """Store that the port is gone."""
        self.submit(LoseLink(lost.reason), at)

    def find(self, back: GaugeBack) -> None:
        """Store that the gauge is back, or that another one is in its place."""
        before = self.state.setup.source
        is_same = back.identity.text == before.device
        name = before.gauge if is_same or before.gauge != before.device else back.identity.text
        source = GaugeSource(name, back.identity.text, back.identity.serial, back.port)
        self.submit(FindLink(source), back.at)

    def pass_time(self) -> None:
        """A check may have grown too old, and it may be too late for a press to answer."""
        now = self._clock.now()
        self.submit(TimePassed(), now)
        if self.board.press_answers and not can_be_pressed(self.state, now.utc_us):
            self._shown = self._waiting(next_shown(self._shown, (), self.state, now.utc_us))
            self._show.step(self.board, Step((), ()))

    def flush(self) -> None:
        """Store what was only counted."""
        rejects = self._rejects.flush()
        if rejects is not None:
            self.submit(rejects, self._clock.now())
        for aside in self._asides.flush():
            # By its last: the next reading is judged by the time since then.
            self.submit(aside, (aside.last or aside.reading).at)

    def submit(self, command: Command, at: Instant) -> None:
        """Take a command in; a refusal is shown."""
        try:
            self._submit(command, at)
        except Refused as refused:
            self._show.refused(str(refused))

    def _submit(self, command: Command, at: Instant, by: str = "") -> None:
        before = self.state
        step = self._manager.submit(command, at.utc_us, by)
        if step.entries:
            if _is_asked_anew(before, command, step, self.state):
                self._shown_ns = self._clock.now().mono_ns
            shown = next_shown(self._shown, step.entries, self.state, at.utc_us)
            self._shown = self._waiting(shown)
            self._show.step(self.board, step)
            self._stand_in(step)

    def _stand_in(self, step: Step) -> None:
        """Without a keyboard, do what the operator would have been asked for."""
        if self._is_attended:
            return
        command = unattended(self.state, step.entries)
        if command is not None:
            shown_ns = self._shown_ns
            self.submit(command, self._clock.now())
            self._shown_ns = shown_ns


def _is_asked_anew(before: State, command: Command, step: Step, state: State) -> bool:
    """Something else is asked for than a moment ago, and no reading on its way along the route led
    to it. What stands in for the operator answers at once, and asks for the same place again.
    """
    match command:
        case TakeReading() | SetAside() | TakeReject():
            return any(_is_sudden(entry.event) for entry in step.entries)
        case FindLink():
            return True
        case _:
            return _asked(before) != _asked(state)


def _is_sudden(event: AnyEvent) -> bool:
    """What a reading brought to light: the gauge has lost its zero, or the check is too old."""
    return isinstance(event, Zeroed) or (isinstance(event, StintBegan) and event.cause == "age")


def _asked(state: State) -> tuple[object, ...]:
    """What is asked for: an answer, or a reading of what in which stint."""
    stint = state.stint.event.stint if state.stint is not None else 0
    return state.held, stint, target(state)
