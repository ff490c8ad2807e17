"""Threads and the queue: gauge and keyboard put in, one loop takes out and owns the session."""

import queue
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Protocol, TypeAlias

import msgspec

from daq.commands import Command, LoseLink, TakeReading, TimePassed, parse_line
from daq.errors import Refused
from daq.manager import SessionManager, Step
from daq.rejects import RejectFold
from daq.session import State, Status, status
from daq.unattended import unattended
from drivers.advice import Adviser
from drivers.clock import Clock
from drivers.codec import codec_for
from drivers.errors import PortLost
from drivers.gauge import FromGauge, GaugeLost, GaugeReader
from drivers.ports.base import Port
from drivers.profile import Profile
from drivers.reading import Instant, Reading, Reject

QUEUE_SIZE = 1000
"""When so much waits, the gauge thread waits too and the system's own buffer fills: nothing is
dropped here."""

FULL_WAIT_S = 0.01


class Typed(msgspec.Struct, frozen=True):
    """A line from the keyboard, and when it was typed."""

    text: str
    at: Instant | None = None


class KeyboardGone(msgspec.Struct, frozen=True):
    """There is no keyboard, or no more."""


class Interrupted(msgspec.Struct, frozen=True):
    """Ctrl-C, or a request to end."""


Item: TypeAlias = FromGauge | Typed | KeyboardGone | Interrupted
Keyboard: TypeAlias = Callable[[Callable[[Item], None]], None]
"""Runs in a thread of its own and puts Typed lines, at last KeyboardGone."""


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


class Runner:
    """One run of one session on one open port."""

    def __init__(
        self,
        manager: SessionManager,
        port: Port,
        profile: Profile,
        clock: Clock,
        keyboard: Keyboard | None,
        show: Show,
    ) -> None:
        self._manager = manager
        self._clock = clock
        self._show = show
        # A signal handler may put into this kind of queue at any moment, also while it is read.
        self._queue: queue.SimpleQueue[Item] = queue.SimpleQueue()
        self._interrupts = 0
        self._stopping = threading.Event()
        self._gauge = GaugeReader(port, codec_for(profile), clock, self._put)
        self._keyboard = keyboard
        self._has_keyboard = keyboard is not None
        self._fold = RejectFold()
        self._adviser = Adviser()

    def run(self, first: Step) -> None:
        """Until the session is closed or left open; `first` holds the lines already stored.

        Raises PortLost when the gauge is gone and KeyboardInterrupt when it is interrupted, this
        between two steps and never within one; whatever ends it, the port is given back.
        """
        with self._signals():
            self._run(first)

    @contextmanager
    def _signals(self) -> Iterator[None]:
        """Take Ctrl-C and SIGTERM as items of the queue, so that no step is torn apart by one."""
        before = {
            number: signal.signal(number, self._interrupt)
            for number in (signal.SIGINT, signal.SIGTERM)
        }
        try:
            yield
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)

    def _interrupt(self, number: int, frame: object) -> None:
        self._interrupts += 1
        if self._interrupts > 1:
            raise KeyboardInterrupt  # the first one found no hearing: a disk that hangs, perhaps
        self._queue.put(Interrupted())

    def _run(self, first: Step) -> None:
        self._gauge.start()
        if self._keyboard is not None:
            threading.Thread(target=self._listen, name="keyboard", daemon=True).start()
        try:
            self._show.begun(self._manager.state)
            self._show.step(self._manager.state, first, self._manager.state)
            self._stand_in(Step((), ()))  # the first lines are the run's own doing
            while not self._manager.is_done:
                self._one()
        finally:
            self._stopping.set()
            self._gauge.stop()

    def _listen(self) -> None:
        """The keyboard's thread: stamp what is typed as it comes; no thread dies in silence."""
        assert self._keyboard is not None
        try:
            self._keyboard(
                lambda item: self._put(
                    Typed(item.text, self._clock.now()) if isinstance(item, Typed) else item
                )
            )
        except Exception as error:
            self._put(error)

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
            self._submit(TimePassed(), self._clock.now())
            return
        match item:
            case Reading():
                self._flush()
                self._fold.reading_came()
                self._adviser.after(item)
                self._submit(TakeReading(item), item.at)
            case Reject():
                command = self._fold.take(item)
                if command is not None:
                    self._submit(command, item.at)
                advice = self._adviser.after(item)
                if advice:
                    self._show.advice(advice)
            case GaugeLost():
                self._flush()
                self._lose(item.lost, item.at)
            case Typed():
                self._typed(item.text, item.at or self._clock.now())
            case KeyboardGone():
                self._has_keyboard = False
                self._stand_in(Step((), ()))
            case Interrupted():
                self._flush()
                raise KeyboardInterrupt
            case Exception():
                raise item

    def _patience_s(self) -> float | None:
        """How long to wait for the queue: for ever, or until something must be done by itself."""
        waits = [1.0] if self._fold.has_pending else []
        stint = self._manager.state.stint
        if status(self._manager.state) is Status.MEASURING and stint and stint.last_passed_us:
            due_us = stint.last_passed_us + self._manager.state.plan.check.max_age_us
            left_s = (due_us - self._clock.now().utc_us) / 1e6 + 0.001
            waits.append(min(max(left_s, 0.0), threading.TIMEOUT_MAX))
        return min(waits, default=None)

    def _typed(self, text: str, at: Instant) -> None:
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
        self._submit(LoseLink(lost.reason), at)
        raise lost
