"""The loop that owns a session: it takes what gauge, keyboard and send key put in."""

import threading
from typing import Protocol

from daq.acquisition.inputs import (
    InputSource,
    Interrupted,
    KeyboardGone,
    Nudged,
    SendKeyGone,
    SendPressed,
    TakingMode,
    Typed,
)
from daq.acquisition.manager import SessionManager, Step
from daq.acquisition.presses import Presses, TypedLines
from daq.acquisition.pressing import is_wanted, refusal
from daq.acquisition.reconnect import Absence
from daq.acquisition.reject_fold import RejectFold
from daq.acquisition.sources import Sources
from daq.errors import Refused, SettingsError
from daq.record import events
from daq.record.state import State, Status, status
from daq.rules.commands import (
    Command,
    FindLink,
    LinkNote,
    LoseLink,
    TakeReading,
    TimePassed,
    parse_line,
)
from daq.rules.unattended import unattended
from drivers.clock import Clock
from drivers.errors import PortLost
from drivers.gauge.advice import Adviser
from drivers.gauge.reader import GaugeBack, GaugeLost, Notice
from drivers.ports.base import Port
from drivers.profile.profile import Profile
from drivers.reading import Instant, Reading, Reject


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
        keyboard: InputSource | None,
        show: Show,
        taking: TakingMode | None = None,
    ) -> None:
        self._manager = manager
        self._clock = clock
        self._show = show
        self._kind = profile.kind
        self._taking = taking = taking or TakingMode()
        self._presses = Presses(taking)
        self._lines = TypedLines(taking, self._presses)
        self._sources = Sources(port, profile, clock, keyboard, taking)
        self._absence = Absence(taking.wait_back_s)
        self._has_keyboard = keyboard is not None
        self._fold = RejectFold()
        self._adviser = Adviser(self._kind)

    def run(self, first: Step) -> None:
        """Until the session is closed or left open; `first` holds the lines already stored.

        Raises PortLost when the gauge is gone and KeyboardInterrupt when it is interrupted, this
        between two steps and never within one; whatever ends it, the port is given back.
        """
        with self._sources.listening():
            self._show.begun(self._manager.state)
            self._show.step(self._manager.state, first, self._manager.state)
            self._stand_in(Step((), ()))  # the first lines are the run's own doing
            while not self._manager.is_done:
                self._one()

    def _one(self) -> None:
        item = self._sources.take(self._patience_s())
        match item:
            case None:
                self._passed()
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
                self._lines.add(item)
                self._go_on_typing()
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

    def _passed(self) -> None:
        """Nothing came for as long as was waited."""
        self._flush()
        if self._absence.lost is not None and self._absence.is_over(self._clock.now().mono_ns):
            raise self._absence.lost
        self._submit(TimePassed(), self._clock.now())

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
        if is_wanted(self._presses, reading, self._manager.state):
            self._flush()
            self._fold.reading_came()
            self._submit(TakeReading(reading), reading.at)
        else:
            self._show.streamed(reading)
        self._go_on_typing()

    def _reject(self, reject: Reject) -> None:
        self._presses.heard(reject)
        if self._presses.is_told(reject):
            command = self._fold.take(reject)
            if command is not None:
                self._submit(command, reject.at)
        advice = self._adviser.after(reject)
        if advice:
            self._show.advice(advice)
        self._go_on_typing()

    def _press(self, at: Instant) -> None:
        """The operator's send key."""
        refused = refusal(self._presses, self._manager.state, self._absence.lost is not None)
        if refused:
            self._show.refused(refused)
        elif self._presses.press(at):
            self._sources.ask()

    def _go_on_typing(self) -> None:
        while not self._manager.is_done and (item := self._lines.due()) is not None:
            if isinstance(item, Typed):
                self._typed(item.text, item.at or self._clock.now())
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
        source = events.GaugeSource(name, back.identity.text, back.identity.serial, back.port)
        self._submit(FindLink(source), back.at)
