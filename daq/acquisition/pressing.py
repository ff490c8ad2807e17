"""Presses of a session: what it wants of them in the state it is in. Pure."""

from daq.acquisition.presses import Presses
from daq.record.state import State, Status, sent_mm, status
from daq.rules.plausibility import is_expected, sent, zero_lost
from drivers.reading import Reading

_ASKS = (Status.WAITING, Status.MEASURING, Status.CHECKING, Status.CLOSING)


def refusal(presses: Presses, state: State, is_away: bool) -> str | None:
    """Why a press cannot be taken now, in words; None if it can."""
    refused = presses.refusal(is_away)
    if refused is None and state.held is not None:
        return "a held reading waits: answer keep or drop first"
    return refused


def is_wanted(presses: Presses, reading: Reading, state: State) -> bool:
    """Whether a reading counts. Of a stream it does if it was pressed for, or rested where a size
    is expected (a gauge that lies open on the bench rests too), or says that the zero is lost.
    """
    why = presses.why(reading)
    if why == "pressed" or zero_lost(state, reading.flags):
        return True
    mm = sent_mm(sent(reading))
    return why == "rested" and mm is not None and _expects(state) and is_expected(state, mm)


def _expects(state: State) -> bool:
    return status(state) in _ASKS
