"""The operator's send key: what a press does, and which outcomes it was meant for. Pure."""

from daq.decide import sent
from daq.doubts import is_expected, zero_lost
from daq.session import State, Status, sent_mm, status
from daq.taking import Taking
from drivers.asking import is_answer
from drivers.reading import Instant, Outcome, Reading, Reject
from drivers.trigger import Gate

_ASKS = (Status.WAITING, Status.MEASURING, Status.CHECKING, Status.CLOSING)


class Presses:
    """What a run does with presses; a gauge that sends by its own button needs none of it."""

    def __init__(self, taking: Taking) -> None:
        self._taking = taking
        self._gate = Gate(taking.rest_s) if taking.is_gated else None
        self._is_out = False

    @property
    def is_waiting(self) -> bool:
        """A press waits for its reading."""
        return self._is_out or (self._gate is not None and self._gate.is_open)

    def refusal(self, state: State, is_away: bool) -> str | None:
        """Why a press cannot be taken now, in words; None if it can."""
        if not self._taking.has_trigger:
            return "this gauge is not asked: press its own send button"
        if is_away:
            return "the gauge is not connected"
        if state.held is not None:
            return "a held reading waits: answer keep or drop first"
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

    def is_wanted(self, reading: Reading, state: State) -> bool:
        """Whether a reading counts. Of a stream it does if it was pressed for, or rested where a
        size is expected (a gauge that lies open on the bench rests too), or says that the zero is
        lost.
        """
        if self._gate is None:
            return True
        why = self._gate.take(reading)
        if why == "pressed" or zero_lost(state, reading.flags):
            return True
        mm = sent_mm(sent(reading))
        return why == "rested" and mm is not None and _expects(state) and is_expected(state, mm)

    def is_stored(self, reject: Reject) -> bool:
        """Whether a reject is recorded; what a stream sends unasked is shown only."""
        return self._gate is None or self._gate.is_open or reject.code == "no-reply"

    def lost(self) -> None:
        """The gauge is gone, and with it what was pressed for."""
        self._is_out = False
        if self._gate is not None:
            self._gate.shut()


def _expects(state: State) -> bool:
    return status(state) in _ASKS
