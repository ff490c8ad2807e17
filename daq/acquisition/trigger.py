"""The operator's send key: what a press does, and which outcomes it was meant for. Pure."""

from collections import deque

from daq.acquisition.inputs import KeyboardGone, TakingMode, Typed
from daq.acquisition.stream_gate import Gate, Why
from drivers.gauge.asking import is_answer
from drivers.reading import Instant, Outcome, Reading, Reject


class Presses:
    """What a run does with presses; a gauge that sends by its own button needs none of it."""

    def __init__(self, taking: TakingMode) -> None:
        self._taking = taking
        self._gate = Gate(taking.rest_s) if taking.is_gated else None
        self._is_out = False

    @property
    def is_waiting(self) -> bool:
        """A press waits for its reading."""
        return self._is_out or (self._gate is not None and self._gate.is_open)

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

    def press(self, at: Instant) -> bool:
        """Take a press; True if the gauge is to be asked now."""
        if self._gate is not None:
            self._gate.press(at)
        asking = self._taking.asking
        self._is_out = asking is not None and asking.every_s is None
        return self._is_out

    def heard(self, outcome: Outcome) -> None:
        """The gauge said something: the answer, perhaps."""
        if is_answer(outcome):
            self._is_out = False

    def why(self, reading: Reading) -> Why | None:
        """Why a reading counts: of a gauge that speaks only when it is to, each was sent. None: it
        is one of a stream that nobody wanted.
        """
        return "pressed" if self._gate is None else self._gate.take(reading)

    def is_told(self, reject: Reject) -> bool:
        """Whether a reject matters; of a stream, only while a press waits."""
        return self._gate is None or self._gate.is_open or reject.code == "no-reply"

    def lost(self) -> None:
        """The gauge is gone, and with it what was pressed for."""
        self._is_out = False
        if self._gate is not None:
            self._gate.shut()


class TypedLines:
    """What was typed, in order. Lines of a script wait until the press before has its reading."""

    def __init__(self, taking: TakingMode, presses: Presses) -> None:
        self._is_script = taking.is_script
        self._presses = presses
        self._lines: deque[Typed | KeyboardGone] = deque()

    def add(self, item: Typed | KeyboardGone) -> None:
        """One more; one that has to wait loses its moment, as it will act later."""
        waits = self._lines or (self._is_script and self._presses.is_waiting)
        self._lines.append(Typed(item.text) if waits and isinstance(item, Typed) else item)

    def due(self) -> Typed | KeyboardGone | None:
        """Take out the next one that may act now."""
        if not self._lines or (self._is_script and self._presses.is_waiting):
            return None
        return self._lines.popleft()
