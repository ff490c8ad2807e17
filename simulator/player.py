"""What each step of a script makes the gauge do, worked out without doing it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from simulator.errors import ScriptError
from simulator.formats import Format
from simulator.gauge import Micrometer
from simulator.script import (
    STATIONS,
    Hold,
    Press,
    PullCable,
    PutJournal,
    PutStack,
    SendRaw,
    SetBias,
    SetDrift,
    ShowUnit,
    Step,
    Wait,
    Zero,
)
from simulator.workpiece import Crankshaft

HOLD_REPEAT_S = Decimal("0.1")
PRESS_EVERY_S = 0.5

NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class SendBytes:
    """Send these bytes at this many seconds of script time; about says what they tell."""

    at_s: float
    data: bytes
    about: str


@dataclass(frozen=True, slots=True)
class Pause:
    """Let so many seconds pass, from this many seconds of script time on."""

    at_s: float
    seconds: float


@dataclass(frozen=True, slots=True)
class Unplug:
    """Pull the cable at this many seconds of script time."""

    at_s: float


Action = SendBytes | Pause | Unplug


class Player:
    """The gauge, what is in it, and the time in the script; turns steps into actions.

    Script time begins at 0.0 and passes only by waiting, holding and pressing, so that the same
    steps and the same seed give the same bytes however slow the machine. Every press takes
    press_every_s seconds, the time a hand needs. channel counts from 1.
    """

    def __init__(
        self,
        crankshaft: Crankshaft,
        gauge: Micrometer,
        format_: Format,
        *,
        channel: int = 1,
        press_every_s: float = PRESS_EVERY_S,
    ) -> None:
        if channel < 1:
            raise ValueError(f"channels count from 1, not {channel}")
        if press_every_s < 0:
            raise ValueError("press_every_s is a time, never negative")
        self._crankshaft = crankshaft
        self._gauge = gauge
        self._encode = format_.encode
        self._channel = channel
        self._press_every_s = press_every_s
        self._now_s = 0.0
        self._true_mm: float | None = None
        self._what = NOTHING

    @property
    def now_s(self) -> float:
        """Seconds of script time so far."""
        return self._now_s

    def describe(self) -> str:
        """What is in the gauge now, with its true size."""
        if self._true_mm is None:
            return self._what
        return f"{self._what}, truly {self._true_mm:.4f} mm"

    def perform(self, step: Step) -> tuple[Action, ...]:
        """Take one step and tell what follows from it, in order.

        Raises ScriptError with the step's line for a journal that is not there, or a gauge that is
        empty when it should not be, or shows more than its format can send.
        """
        match step:
            case PutJournal():
                self._put_journal(step)
            case PutStack(size_mm=size_mm, written=written):
                self._true_mm, self._what = float(size_mm), f"gauge blocks {written}"
            case Press():
                return self._press(step)
            case Hold():
                return self._hold(step)
            case ShowUnit(unit=unit):
                if unit != self._gauge.unit:
                    self._gauge.switch_unit()
            case Zero(line=line):
                self._gauge.rezero(self._size(line), self._now_s)
            case Wait(seconds=seconds):
                return (self._pause(float(seconds)),)
            case SetBias(bias_mm=bias_mm):
                self._gauge.set_bias(bias_mm, self._now_s)
            case SetDrift(mm_per_hour=mm_per_hour):
                self._gauge.set_drift(mm_per_hour, self._now_s)
            case SendRaw(data=data):
                return (SendBytes(self._now_s, data, f"raw: {data.hex(' ')}"),)
            case PullCable():
                return (Unplug(self._now_s),)
        return ()

    def _put_journal(self, step: PutJournal) -> None:
        """Put a journal in the gauge; one that is not there leaves what is in it alone."""
        try:
            journal = self._crankshaft.journal(step.journal)
        except ScriptError as error:
            raise ScriptError(step.line, error.reason) from None
        names = [name for name, along in STATIONS.items() if along == step.along]
        station = names[0] if names else f"{step.along:g} of its length"
        self._true_mm = journal.diameter_at(step.along, step.angle_deg)
        self._what = f"{journal.name} at {station}, {step.angle_deg:g} deg"

    def _press(self, step: Press) -> tuple[Action, ...]:
        """One reading and the time it takes, as often as asked."""
        actions: list[Action] = []
        for _ in range(step.times):
            actions.append(self._frame(step.line))
            if self._press_every_s:
                actions.append(self._pause(self._press_every_s))
        return tuple(actions)

    def _hold(self, step: Hold) -> tuple[Action, ...]:
        """One frame at once and again at every repeat that falls before the button is let go."""
        start_s = self._now_s
        frame = self._frame(step.line)
        actions: list[Action] = [frame]
        # Counted in decimals: adding 0.1 up in binary would lose or gain a frame now and then.
        elapsed = Decimal(0)
        while elapsed < step.seconds:
            elapsed = min(elapsed + HOLD_REPEAT_S, step.seconds)
            actions.append(self._pause_until(start_s + float(elapsed)))
            if elapsed < step.seconds:
                actions.append(SendBytes(self._now_s, frame.data, f"{frame.about} (held)"))
        return tuple(actions)

    def _frame(self, line: int) -> SendBytes:
        """Read what is in the gauge and write it down as the gauge sends it.

        Raises ScriptError when the gauge is empty or its format has no room for the number.
        """
        shown = self._gauge.read(self._size(line), self._now_s)
        try:
            data = self._encode(shown, self._channel, self._gauge.flags)
        except ValueError as error:
            raise ScriptError(line, f"the gauge cannot send this: {error}") from None
        return SendBytes(self._now_s, data, f"{self._what}: {shown.digits:f} {shown.unit}")

    def _size(self, line: int) -> float:
        """True size in mm of what is in the gauge; ScriptError when nothing is."""
        if self._true_mm is None:
            raise ScriptError(line, "nothing is in the gauge; expected `at` or `stack` before this")
        return self._true_mm

    def _pause(self, seconds: float) -> Pause:
        """Let script time pass."""
        return self._pause_until(self._now_s + seconds)

    def _pause_until(self, end_s: float) -> Pause:
        """Let script time pass up to a moment."""
        pause = Pause(self._now_s, end_s - self._now_s)
        self._now_s = end_s
        return pause
