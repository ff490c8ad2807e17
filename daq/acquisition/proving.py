"""The readings of a stack outside any session: the loop that takes them."""

from collections.abc import Callable

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
from daq.acquisition.presses import Presses, TypedLines
from daq.acquisition.reconnect import Absence
from daq.acquisition.sources import Sources
from daq.errors import SettingsError
from daq.gauges.check_rules import MOST_DOUBTED, StackReadings, Wanted, is_near, take, zero_lost
from daq.lengths import EXACT, plain, to_mm
from drivers.clock import Clock
from drivers.gauge.advice import Adviser
from drivers.gauge.reader import GaugeBack, GaugeLost, Notice
from drivers.ports.base import Port
from drivers.profile.profile import Profile
from drivers.reading import Instant, Reading, Reject, escaped


class Stopped(Exception):
    """The check ended before all was read; nothing is kept of it."""


class Proving:
    """One check on one open port; `say` shows a line of talk."""

    def __init__(
        self,
        wanted: Wanted,
        port: Port,
        profile: Profile,
        clock: Clock,
        keyboard: InputSource | None,
        taking: TakingMode,
        say: Callable[[str], None],
    ) -> None:
        self._wanted = wanted
        self._clock = clock
        self._taking = taking
        self._say = say
        self._taken = StackReadings()
        self._presses = Presses(taking)
        self._lines = TypedLines(taking, self._presses)
        self._sources = Sources(port, profile, clock, keyboard, taking)
        self._absence = Absence(taking.wait_back_s)
        self._kind = profile.kind
        self._adviser = Adviser(profile.kind)
        self._identity = port.identity.text

    def run(self) -> tuple[Reading, ...]:
        """The counted readings in order, as many as are wanted; whatever ends it, the port is given
        back.

        Raises Stopped, PortLost, KeyboardInterrupt, SettingsError.
        """
        with self._sources.listening():
            while len(self._taken.readings) < self._wanted.readings:
                self._one()
        return self._taken.readings

    def _one(self) -> None:
        item = self._sources.take(self._absence.left_s(self._clock.now().mono_ns))
        match item:
            case None:
                assert self._absence.lost is not None
                raise self._absence.lost
            case Reading():
                self._reading(item)
            case Reject():
                self._reject(item)
            case Notice():
                self._say(f"Note: {item.text}")
            case GaugeLost():
                self._lose(item)
            case GaugeBack():
                self._found(item)
            case Typed() | KeyboardGone():
                self._lines.add(item)
                self._go_on_typing()
            case SendPressed():
                self._press(item.at or self._clock.now())
            case SendKeyGone():
                self._say(f"Note: the send key: {item.reason}")
            case Nudged():
                return
            case Interrupted():
                raise KeyboardInterrupt
            case Exception():
                raise item

    def _reading(self, reading: Reading) -> None:
        self._adviser.after(reading)
        self._absence.heard()
        self._presses.heard(reading)
        if self._counts(reading):
            said = take(self._taken, reading, self._wanted)
            self._taken = said.taken
            self._say(said.words or self._line(reading))
            if self._taken.doubted >= MOST_DOUBTED:
                raise Stopped(f"{MOST_DOUBTED} readings in a row did not count")
        self._go_on_typing()

    def _counts(self, reading: Reading) -> bool:
        why = self._presses.why(reading)
        return (
            why == "pressed"
            or (why == "rested" and is_near(reading, self._wanted))
            or bool(zero_lost(self._taken, reading))
        )

    def _line(self, reading: Reading) -> str:
        error = EXACT.subtract(to_mm(reading.value, reading.unit), self._wanted.stack.size.mm)
        count = f"{len(self._taken.readings)}/{self._wanted.readings}"
        sign = "+" if error > 0 else ""
        return f"{count}  {plain(reading.value)} {reading.unit}  error {sign}{plain(error)} mm"

    def _reject(self, reject: Reject) -> None:
        self._presses.heard(reject)
        if self._presses.is_told(reject):
            self._say(f"{reject.code}: {reject.detail} [{escaped(reject.raw)}]")
        advice = self._adviser.after(reject)
        if advice:
            self._say(f"Hint: {advice}")
        self._go_on_typing()

    def _press(self, at: Instant) -> None:
        """The operator's send key."""
        refused = self._presses.refusal(self._absence.lost is not None)
        if refused:
            self._say(f"Not done: {refused}.")
        elif self._presses.press(at):
            self._sources.ask()

    def _go_on_typing(self) -> None:
        while (item := self._lines.due()) is not None:
            self._typed(item)

    def _typed(self, item: Typed | KeyboardGone) -> None:
        if isinstance(item, KeyboardGone):
            if self._taking.needs_press:
                raise SettingsError(
                    "The keyboard is gone, and nobody else could trigger a reading. Prove the "
                    "gauge with a keyboard, or with --send-key or --stable."
                )
            return
        word, _, rest = item.text.strip().partition(" ")
        if not word and self._taking.has_trigger:
            self._press(item.at or self._clock.now())
        elif word == "back" and self._taken.readings:
            self._taken = StackReadings(self._taken.readings[:-1])
            self._say("The last reading is taken back.")
        elif word in ("stop", "abandon"):
            raise Stopped(rest.strip() or "stopped by the operator")
        elif word:
            self._say("Not done: the words here are back and stop.")

    def _lose(self, gone: GaugeLost) -> None:
        self._presses.lost()
        if self._taking.search is None:
            raise gone.lost
        self._say(f"Note: {gone.lost} Waiting for it to come back; the check then begins again.")
        self._taken = StackReadings()
        self._absence.begin(gone.lost, gone.at.mono_ns)
        self._go_on_typing()

    def _found(self, back: GaugeBack) -> None:
        if back.identity.text != self._identity:
            raise Stopped(f"another gauge is in its place: {back.identity.text}")
        self._absence.end()
        self._adviser = Adviser(self._kind)
        self._say("Note: the gauge is back; the check begins again.")
