"""The readings of a stack outside any session: gauge and keyboard in, one loop takes out."""

import queue
import threading
from collections import deque
from collections.abc import Callable

from daq.absence import Absence
from daq.cli.proving_rules import MOST_DOUBTED, Taken, Wanted, is_near, take
from daq.errors import SettingsError
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
from daq.terms import EXACT, plain, to_mm
from drivers.advice import Adviser
from drivers.asking import is_answer
from drivers.clock import Clock
from drivers.codec import codec_for
from drivers.gauge import GaugeBack, GaugeLost, GaugeReader, Notice
from drivers.ports.base import Port
from drivers.profile import Profile
from drivers.reading import Instant, Reading, Reject, escaped
from drivers.trigger import Gate

QUEUE_SIZE = 1000
"""When so much waits, the gauge's thread waits too: memory stays bounded."""

FULL_WAIT_S = 0.01


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
        keyboard: Source | None,
        taking: Taking,
        say: Callable[[str], None],
    ) -> None:
        self._wanted = wanted
        self._clock = clock
        self._keyboard = keyboard
        self._taking = taking
        self._say = say
        self._taken = Taken()
        self._gate = Gate(taking.rest_s) if taking.is_gated else None
        self._is_out = False
        self._typed_before: deque[Typed | KeyboardGone] = deque()
        self._queue: queue.SimpleQueue[Item] = queue.SimpleQueue()
        self._stopping = threading.Event()
        self._absence = Absence(taking.wait_back_s)
        self._kind = profile.kind
        self._adviser = Adviser(profile.kind)
        self._identity = port.identity.text
        self._gauge = GaugeReader(
            port,
            lambda: codec_for(profile, with_repeats=not taking.is_gated),
            clock,
            self._put,
            asking=taking.asking,
            search=taking.search,
        )

    def run(self) -> tuple[Reading, ...]:
        """The counted readings in order, as many as are wanted; whatever ends it, the port is given
        back.

        Raises Stopped, PortLost, KeyboardInterrupt, SettingsError.
        """
        put = self._queue.put  # never waits, so it may be called from a signal handler
        with interrupts(lambda: put(Interrupted()), lambda: put(Nudged())):
            self._gauge.start()
            for source in filter(None, (self._keyboard, self._taking.send_key)):
                threading.Thread(target=self._listen, args=(source,), daemon=True).start()
            try:
                while len(self._taken.readings) < self._wanted.readings:
                    self._one()
            finally:
                self._stopping.set()
                self._gauge.stop()
        return self._taken.readings

    def _listen(self, source: Source) -> None:
        """A keyboard's thread: no thread dies in silence."""
        try:
            source(self._put)
        except Exception as error:
            self._put(error)

    def _put(self, item: Item) -> None:
        while self._queue.qsize() >= QUEUE_SIZE:
            if self._stopping.wait(FULL_WAIT_S):
                return
        self._queue.put(item)

    def _one(self) -> None:
        try:
            item = self._queue.get(timeout=self._absence.left_s(self._clock.now().mono_ns))
        except queue.Empty:
            assert self._absence.lost is not None
            raise self._absence.lost from None
        match item:
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
                self._from_keyboard(item)
            case SendPressed():
                self._press(self._clock.now())
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
        self._heard(reading)
        if self._counts(reading):
            said = take(self._taken, reading, self._wanted)
            self._taken = said.taken
            self._say(said.words or self._line(reading))
            if self._taken.doubted >= MOST_DOUBTED:
                raise Stopped(f"{MOST_DOUBTED} readings in a row did not count")
        self._go_on_typing()

    def _counts(self, reading: Reading) -> bool:
        if self._gate is None:
            return True
        why = self._gate.take(reading)
        return why == "pressed" or (why == "rested" and is_near(reading, self._wanted))

    def _line(self, reading: Reading) -> str:
        error = EXACT.subtract(to_mm(reading.value, reading.unit), self._wanted.stack.size.mm)
        count = f"{len(self._taken.readings)}/{self._wanted.readings}"
        sign = "+" if error > 0 else ""
        return f"{count}  {plain(reading.value)} {reading.unit}  error {sign}{plain(error)} mm"

    def _reject(self, reject: Reject) -> None:
        self._heard(reject)
        if self._gate is None or self._gate.is_open or reject.code == "no-reply":
            self._say(f"{reject.code}: {reject.detail} [{escaped(reject.raw)}]")
        advice = self._adviser.after(reject)
        if advice:
            self._say(f"Hint: {advice}")
        self._go_on_typing()

    def _heard(self, outcome: Reading | Reject) -> None:
        if is_answer(outcome):
            self._is_out = False

    @property
    def _is_waiting(self) -> bool:
        return self._is_out or (self._gate is not None and self._gate.is_open)

    def _press(self, at: Instant) -> None:
        """The operator's send key."""
        if not self._taking.has_trigger:
            self._say("Not done: this gauge is not asked, press its own send button.")
        elif self._absence.lost is not None:
            self._say("Not done: the gauge is not connected.")
        elif self._is_out:
            self._say("Not done: the gauge has not answered yet.")
        else:
            if self._gate is not None:
                self._gate.press(at)
            asking = self._taking.asking
            self._is_out = asking is not None and asking.every_s is None
            if self._is_out:
                self._gauge.ask()

    def _from_keyboard(self, item: Typed | KeyboardGone) -> None:
        """Now; or, where lines come from a script, once the press before has its reading."""
        if self._typed_before or (self._taking.is_script and self._is_waiting):
            self._typed_before.append(item)
        else:
            self._typed(item)

    def _go_on_typing(self) -> None:
        while self._typed_before and not self._is_waiting:
            self._typed(self._typed_before.popleft())

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
            self._press(self._clock.now())
        elif word == "back" and self._taken.readings:
            self._taken = Taken(self._taken.readings[:-1])
            self._say("The last reading is taken back.")
        elif word in ("stop", "abandon"):
            raise Stopped(rest.strip() or "stopped by the operator")
        elif word:
            self._say("Not done: the words here are back and stop.")

    def _lose(self, gone: GaugeLost) -> None:
        self._is_out = False
        if self._gate is not None:
            self._gate.shut()
        if self._taking.search is None:
            raise gone.lost
        self._say(f"Note: {gone.lost} Waiting for it to come back; the check then begins again.")
        self._taken = Taken()
        self._absence.begin(gone.lost, gone.at.mono_ns)
        self._go_on_typing()

    def _found(self, back: GaugeBack) -> None:
        if back.identity.text != self._identity:
            raise Stopped(f"another gauge is in its place: {back.identity.text}")
        self._absence.end()
        self._adviser = Adviser(self._kind)
        self._say("Note: the gauge is back; the check begins again.")
