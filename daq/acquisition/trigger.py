"""The operator's send key: what a press does, and which outcomes it was meant for. Pure.

Where presses here trigger readings, the least interval runs between presses, taken or refused: a
key that repeats because it is held down takes one reading. A value that was taken by itself at rest
counts as a press too, since it is what the operator was about to press for. The gauge's answer may
take as long as it likes. Lines of a script are no hand's: they wait until the interval is over.
"""

from collections import deque

from daq.acquisition.inputs import KeyboardGone, TakingMode, Typed
from daq.acquisition.stream_gate import Gate
from daq.rules.commands import Why
from daq.rules.interval import seconds
from drivers.gauge.asking import is_answer
from drivers.reading import Instant, Outcome, Reading, Reject

TOLD_EVERY_NS = 1_000_000_000
"""A key held down is refused in words once a second, not at each of its repeats."""


UNHEARD_NS = 400_000_000
"""A stream that gave nothing but rejects for so long after a press gives it no reading soon: lines
of a script behind it go on, so that a word is heard in time whatever the gauge sends.
"""


class Presses:
    """What a run does with presses; a gauge that sends by its own button needs none of it."""

    def __init__(self, taking: TakingMode) -> None:
        self._taking = taking
        self._gate = Gate(taking.rest_s) if taking.is_gated else None
        self._is_out = False
        self._is_unheard = False
        self._can_press = taking.has_keyboard or self._others_press
        self._taken: Instant | None = None
        self._last_ns: int | None = None
        self._told_ns: int | None = None

    @property
    def _others_press(self) -> bool:
        """Somebody can press without a keyboard."""
        return self._taking.has_send_key or self._taking.has_page

    @property
    def is_waiting(self) -> bool:
        """A press waits for its reading, which may come any moment."""
        is_open = self._gate is not None and self._gate.is_open
        return self._is_out or (is_open and not self._is_unheard)

    def wanted(self, reading: Reading, why: Why | None) -> Instant:
        """When whoever triggered a reading did so: pressed, or let the value come to rest."""
        moment = None
        if why == "pressed":
            moment = self._taken
        elif why == "rested" and self._gate is not None:
            moment = self._gate.rests_since
        return reading.at if moment is None else moment

    def refusal(self, is_away: bool) -> str | None:
        """Why a press cannot be taken now, in words; None if it can."""
        if not self._taking.has_trigger:
            return "this gauge is not asked: press its own send button"
        if is_away:
            return "the gauge is not connected"
        if self._is_out:
            # Asked twice for one place, the second answer would fill the next one.
            return "the gauge has not answered yet"
        return None

    def left_ns(self, now_ns: int, least_us: int) -> int:
        """How long it is until a press is not too soon any more; 0: it is not."""
        if self._last_ns is None or now_ns < self._last_ns:
            return 0
        return max(0, self._last_ns + least_us * 1000 - now_ns)

    def too_soon(self, at: Instant, least_us: int) -> str | None:
        """Why a press comes too soon after the one before, in words, empty where they were said
        just now; None if it does not. It counts as a press either way.
        """
        last_ns, is_soon = self._last_ns, self.left_ns(at.mono_ns, least_us) > 0
        self._last_ns = at.mono_ns
        if not is_soon or last_ns is None:
            self._told_ns = None
            return None
        if self._told_ns is not None and at.mono_ns - self._told_ns < TOLD_EVERY_NS:
            return ""
        self._told_ns = at.mono_ns
        gap = seconds((at.mono_ns - last_ns) // 1000, least_us)
        return f"that press came {gap} after the one before: press once for each reading"

    def press(self, at: Instant) -> bool:
        """Take a press; True if the gauge is to be asked now."""
        self._taken, self._is_unheard = at, False
        if self._gate is not None:
            self._gate.press(at)
        asking = self._taking.asking
        self._is_out = asking is not None and asking.every_s is None
        return self._is_out

    def heard(self, outcome: Outcome) -> None:
        """The gauge said something: the answer, perhaps."""
        if is_answer(outcome):
            self._is_out = False
        if isinstance(outcome, Reject) and self._taken is not None:
            self._is_unheard |= outcome.at.mono_ns - self._taken.mono_ns >= UNHEARD_NS

    def why(self, reading: Reading) -> Why | None:
        """Why a reading counts, asked before it is `heard`. None: it is one of a stream that nobody
        wanted.
        """
        if self._taking.is_typed:
            return "typed"
        if self._gate is not None:
            return self._gate.take(reading)
        if self._is_out:
            return "pressed"
        is_asked = self._taking.asking is not None
        # Where nobody can press here the gauge's own button is the only one, if it has one.
        return "unasked" if is_asked and self._can_press else "sent"

    def rested(self, at: Instant) -> None:
        """A value was taken by itself."""
        self._last_ns = at.mono_ns

    def is_told(self, reject: Reject) -> bool:
        """Whether a reject matters; of a stream, only while a press waits."""
        return self._gate is None or self._gate.is_open or reject.code == "no-reply"

    def lost(self) -> None:
        """The gauge is gone, and with it what was pressed for."""
        self._is_out = False
        if self._gate is not None:
            self._gate.shut()

    def keyboard_gone(self) -> None:
        """Nobody is at a keyboard any more."""
        self._can_press = self._others_press


class TypedLines:
    """What was typed, in order. Lines of a script wait until the press before has its reading, and
    a press among them until it is not too soon.
    """

    def __init__(self, taking: TakingMode, presses: Presses) -> None:
        self._is_script = taking.is_script
        self._has_trigger = taking.has_trigger
        self._presses = presses
        self._lines: deque[Typed | KeyboardGone] = deque()

    @property
    def are_any(self) -> bool:
        """A line has not acted yet."""
        return bool(self._lines)

    def add(self, item: Typed | KeyboardGone) -> None:
        """One more; a script's that has to wait loses its moment, as it will act later."""
        waits = self._lines or (self._is_script and self._presses.is_waiting)
        loses = waits or (self._is_script and self._is_press(item))
        self._lines.append(Typed(item.text) if loses and isinstance(item, Typed) else item)

    def left_ns(self, now_ns: int, least_us: int) -> int | None:
        """How long the next one has to wait for the interval to be over; None if nothing waits for
        that.
        """
        if not self._is_script or not self._lines or not self._is_press(self._lines[0]):
            return None
        return self._presses.left_ns(now_ns, least_us)

    def due(self, now_ns: int, least_us: int) -> Typed | KeyboardGone | None:
        """Take out the next one that may act now."""
        if not self._lines or (self._is_script and self._presses.is_waiting):
            return None
        if self.left_ns(now_ns, least_us):
            return None
        return self._lines.popleft()

    def _is_press(self, item: Typed | KeyboardGone) -> bool:
        return self._has_trigger and isinstance(item, Typed) and not item.text.strip()
