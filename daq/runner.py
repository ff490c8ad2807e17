"""Threads and the queue: gauge and keyboard put in, one loop takes out and owns the session."""

import queue
import threading
from collections import deque
from typing import Protocol

from daq import events
from daq.absence import Absence
from daq.commands import (
    Command,
    FindLink,
    LinkNote,
    LoseLink,
    TakeReading,
    TimePassed,
    parse_line,
)
from daq.errors import Refused, SettingsError
from daq.manager import SessionManager, Step
from daq.pressing import Presses
from daq.rejects import RejectFold
from daq.session import State, Status, status
from daq.signals import interrupts
from daq.taking import (
    Interrupted,
    Item,
    KeyboardGone,
    Nudged,
    SendKeyGone,
    SendPressed,
    Source,
    Taking,
    Typed,
)
from daq.unattended import unattended
from drivers.advice import Adviser
from drivers.clock import Clock
from drivers.codec import codec_for
from drivers.errors import PortLost
from drivers.gauge import GaugeBack, GaugeLost, GaugeReader, Notice
from drivers.ports.base import Port
from drivers.profile import Profile
from drivers.reading import Instant, Reading, Reject

QUEUE_SIZE = 1000
"""When so much waits, the gauge thread waits too and the system's own buffer fills: nothing is
dropped here."""

FULL_WAIT_S = 0.01


class Show(Protocol):
    """Where a run is shown; every call comes after the sync."""

    def begun(self, state: State) -> None:
        """The port is open and the session stands."""
        ...

    def step(self, before: State, step: Step, state: State) -> None:
        """Lines were stored."""
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


class Runner:
    """One run of one session on one open port."""

    def __init__(
        self,
        manager: SessionManager,
        port: Port,
        profile: Profile,
        clock: Clock,
        keyboard: Source | None,
        show: Show,
        taking: Taking | None = None,
    ) -> None:
        self._manager = manager
        self._clock = clock
        self._show = show
        self._kind = profile.kind
        # A signal handler may put into this kind of queue at any moment, also while it is read.
        self._queue: queue.SimpleQueue[Item] = queue.SimpleQueue()
        self._stopping = threading.Event()
        self._taking = taking = taking or Taking()
        self._presses = Presses(taking)
        self._waiting: deque[Typed | KeyboardGone] = deque()
        self._gauge = GaugeReader(
            port,
            # In a stream equal frames follow each other all the time; a held button shows there
            # as nothing, since one press takes one reading.
            lambda: codec_for(profile, with_repeats=not taking.is_gated),
            clock,
            self._put,
            asking=taking.asking,
            search=taking.search,
        )
        self._absence = Absence(taking.wait_back_s)
        self._keyboard = keyboard
        self._has_keyboard = keyboard is not None
        self._fold = RejectFold()
        self._adviser = Adviser(self._kind)

    def run(self, first: Step) -> None:
        """Until the session is closed or left open; `first` holds the lines already stored.

        Raises PortLost when the gauge is gone and KeyboardInterrupt when it is interrupted, this
        between two steps and never within one; whatever ends it, the port is given back.
        """
        put = self._queue.put  # never waits, so it may be called from a signal handler
        with interrupts(lambda: put(Interrupted()), lambda: put(Nudged())):
            self._run(first)

    def _run(self, first: Step) -> None:
        self._gauge.start()
        for name, source in (("keyboard", self._keyboard), ("send key", self._taking.send_key)):
            if source is not None:
                threading.Thread(
                    target=self._listen, args=(source,), name=name, daemon=True
                ).start()
        try:
            self._show.begun(self._manager.state)
            self._show.step(self._manager.state, first, self._manager.state)
            self._stand_in(Step((), ()))  # the first lines are the run's own doing
            while not self._manager.is_done:
                self._one()
        finally:
            self._stopping.set()
            self._gauge.stop()

    def _listen(self, source: Source) -> None:
        """A keyboard's thread: stamp what comes as it comes; no thread dies in silence."""
        try:
            source(lambda item: self._put(self._stamped(item)))
        except Exception as error:
            self._put(error)

    def _stamped(self, item: Item) -> Item:
        match item:
            case Typed():
                return Typed(item.text, self._clock.now())
            case SendPressed():
                return SendPressed(self._clock.now())
            case _:
                return item

    def _put(self, item: Item) -> None:
        """From the threads: an item, as soon as there is room for it."""
        while self._queue.qsize() >= QUEUE_SIZE:
            if self._stopping.wait(FULL_WAIT_S):
                return
        self._queue.put(item)

    def _one(self) -> None:
        try:
            item = self._queue.get(timeout=self._patience_s())
        except queue.Empty:
            self._flush()
            if self._absence.lost is not None and self._absence.is_over(self._clock.now().mono_ns):
                raise self._absence.lost from None
            self._submit(TimePassed(), self._clock.now())
            return
        match item:
            case Reading():
                self._reading(item)
            case Reject():
                self._reject(item)
            case Notice():
                self._submit(LinkNote(item.text), item.at)
            case GaugeLost():
                self._flush()
                self._lose(item.lost, item.at)
            case GaugeBack():
                self._find(item)
            case Typed() | KeyboardGone():
                self._from_keyboard(item)
            case SendPressed():
                self._press(item.at or self._clock.now())
            case SendKeyGone():
                self._submit(LinkNote(f"the send key: {item.reason}"), self._clock.now())
            case Nudged():
                return  # the signal's handler has run by now
            case Interrupted():
                self._flush()
                raise KeyboardInterrupt
            case Exception():
                raise item

    def _patience_s(self) -> float | None:
        """How long to wait for the queue: for ever, or until something must be done by itself."""
        waits = [1.0] if self._fold.has_pending else []
        left_s = self._absence.left_s(self._clock.now().mono_ns)
        if left_s is not None:
            waits.append(left_s + 0.001)
        stint = self._manager.state.stint
        if status(self._manager.state) is Status.MEASURING and stint and stint.last_passed_us:
            due_us = stint.last_passed_us + self._manager.state.plan.check.max_age_us
            left_s = (due_us - self._clock.now().utc_us) / 1e6 + 0.001
            waits.append(min(max(left_s, 0.0), threading.TIMEOUT_MAX))
        return min(waits, default=None)

    def _reading(self, reading: Reading) -> None:
        self._adviser.after(reading)
        self._absence.heard()
        self._presses.heard(reading)
        if self._presses.is_wanted(reading, self._manager.state):
            self._flush()
            self._fold.reading_came()
            self._submit(TakeReading(reading), reading.at)
        else:
            self._show.streamed(reading)
        self._go_on_typing()

    def _reject(self, reject: Reject) -> None:
        self._presses.heard(reject)
        if self._presses.is_stored(reject):
            command = self._fold.take(reject)
            if command is not None:
                self._submit(command, reject.at)
        advice = self._adviser.after(reject)
        if advice:
            self._show.advice(advice)
        self._go_on_typing()

    def _press(self, at: Instant) -> None:
        """The operator's send key."""
        refusal = self._presses.refusal(self._manager.state, self._absence.lost is not None)
        if refusal:
            self._show.refused(refusal)
        elif self._presses.press(at):
            self._gauge.ask()

    def _from_keyboard(self, item: Typed | KeyboardGone) -> None:
        """Now; or, where lines come from a script, once the press before has its reading."""
        if self._waiting or (self._taking.is_script and self._presses.is_waiting):
            self._waiting.append(item)
        elif isinstance(item, Typed):
            self._typed(item.text, item.at or self._clock.now())
        else:
            self._keyboard_gone()

    def _go_on_typing(self) -> None:
        while self._waiting and not self._presses.is_waiting and not self._manager.is_done:
            item = self._waiting.popleft()
            if isinstance(item, Typed):
                self._typed(item.text, self._clock.now())
            else:
                self._keyboard_gone()

    def _keyboard_gone(self) -> None:
        self._has_keyboard = False
        if self._taking.needs_press:
            raise SettingsError(
                "The keyboard is gone, and nobody else could trigger a reading. Resume the session "
                "with a keyboard, or with --send-key or --stable."
            )
        self._stand_in(Step((), ()))

    def _typed(self, text: str, at: Instant) -> None:
        if not text.strip():
            if self._taking.has_trigger:
                self._press(at)
            return
        try:
            command = parse_line(text)
        except Refused as refused:
            self._show.refused(str(refused))
            return
        if command is not None:
            self._flush()
            self._submit(command, at)

    def _flush(self) -> None:
        command = self._fold.flush()
        if command is not None:
            self._submit(command, self._clock.now())

    def _submit(self, command: Command, at: Instant) -> None:
        before = self._manager.state
        try:
            step = self._manager.submit(command, at.utc_us)
        except Refused as refused:
            self._show.refused(str(refused))
            return
        if step.entries:
            self._show.step(before, step, self._manager.state)
            self._stand_in(step)

    def _stand_in(self, step: Step) -> None:
        """Without a keyboard, do what the operator would have been asked for."""
        if self._has_keyboard:
            return
        command = unattended(self._manager.state, step.entries)
        if command is not None:
            self._submit(command, self._clock.now())

    def _lose(self, lost: PortLost, at: Instant) -> None:
        """The port is gone: end the run, or wait for the gauge."""
        self._presses.lost()
        self._submit(LoseLink(lost.reason), at)
        if self._taking.search is None:
            raise lost
        self._absence.begin(lost, at.mono_ns)
        self._go_on_typing()

    def _find(self, back: GaugeBack) -> None:
        """The gauge is back, or another one is in its place."""
        self._absence.end()
        self._adviser = Adviser(self._kind)
        before = self._manager.state.setup.source
        is_same = back.identity.text == before.device
        name = before.gauge if is_same or before.gauge != before.device else back.identity.text
        source = events.Source(name, back.identity.text, back.identity.serial, back.port)
        self._submit(FindLink(source), back.at)
