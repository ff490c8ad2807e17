"""What each step of a script makes the gauge do, worked out without doing it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from simulator.answering import Manner
from simulator.errors import ScriptError
from simulator.faults import Fault
from simulator.formats import Format
from simulator.gauge import Micrometer
from simulator.script import STATIONS
from simulator.steps import (
    AddFault,
    Hold,
    PlugIn,
    Press,
    PullCable,
    PutJournal,
    PutStack,
    SendRaw,
    SetAnswer,
    SetBias,
    SetDrift,
    SetEcho,
    SetReply,
    ShowUnit,
    Step,
    Stream,
    Wait,
    Zero,
)
from simulator.workpiece import Crankshaft

HOLD_REPEAT_S = Decimal("0.1")
PRESS_EVERY_S = 1.0

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


@dataclass(frozen=True, slots=True)
class Replug:
    """Plug the cable in again at this many seconds; under another name if there is a path."""

    at_s: float
    path: str | None


Action = SendBytes | Pause | Unplug | Replug


class Player:
    """The gauge, what is in it, and the time in the script; turns steps into actions.

    Script time begins at 0.0 and passes only by waiting, holding and pressing, so that the same
    steps and the same seed give the same bytes however slow the machine. Every press takes
    press_every_s seconds, the time a hand needs. channel counts from 1. A streaming gauge sends
    while time passes, and nothing while it is empty.

    manner and faults are how it answers and what is wrong with its cable by now: for whoever does
    the answering and the sending.
    """

    def __init__(
        self,
        crankshaft: Crankshaft,
        gauge: Micrometer,
        format_: Format,
        *,
        channel: int = 1,
        press_every_s: float = PRESS_EVERY_S,
        manner: Manner | None = None,
        faults: tuple[Fault, ...] = (),
    ) -> None:
        if channel < 1:
            raise ValueError(f"channels count from 1, not {channel}")
        if press_every_s < 0:
            raise ValueError("press_every_s is a time, never negative")
        self._crankshaft = crankshaft
        self._gauge = gauge
        self._format = format_
        self._channel = channel
        self._press_every_s = press_every_s
        self._now_s = 0.0
        self._true_mm: float | None = None
        self._what = NOTHING
        self._stream_hz: float | None = None
        self._stream_from_s = 0.0
        self._streamed = 0
        self.manner = manner or Manner()
        self.faults = faults

    @property
    def now_s(self) -> float:
        """Seconds of script time so far."""
        return self._now_s

    @property
    def is_streaming(self) -> bool:
        """It sends all the time."""
        return self._stream_hz is not None

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
            case Stream(hz=hz):
                self._stream_hz, self._stream_from_s, self._streamed = hz, self._now_s, 0
            case Hold():
                return self._hold(step)
            case ShowUnit(unit=unit):
                if unit != self._gauge.unit:
                    self._gauge.switch_unit()
            case Zero(line=line):
                self._gauge.rezero(self._size(line), self._now_s)
            case Wait(seconds=seconds):
                return self._pause(float(seconds), step.line)
            case SetBias(bias_mm=bias_mm):
                self._gauge.set_bias(bias_mm, self._now_s)
            case SetDrift(mm_per_hour=mm_per_hour):
                self._gauge.set_drift(mm_per_hour, self._now_s)
            case SendRaw(data=data):
                return (SendBytes(self._now_s, data, f"raw: {data.hex(' ')}"),)
            case PullCable():
                return (Unplug(self._now_s),)
            case PlugIn(path=path):
                return (Replug(self._now_s, path),)
            case SetAnswer() | SetReply() | SetEcho() | AddFault():
                self._behave(step)
        return ()

    def measured(self) -> tuple[bytes, str] | None:
        """A reading taken now for whoever asks: its bytes, or registers, and what it is of.

        None while nothing is in the gauge, or it shows what its format cannot send.
        """
        if self._true_mm is None:
            return None
        shown = self._gauge.read(self._true_mm, self._now_s)
        try:
            if self._format.registers is not None:
                data = self._format.registers.written(shown)
            else:
                data = self._format.encode(shown, self._channel, self._gauge.flags)
        except ValueError:
            return None
        return data, f"{self._what}: {shown.digits:f} {shown.unit}"

    def _behave(self, step: SetAnswer | SetReply | SetEcho | AddFault) -> None:
        """Another manner of answering, or another state of the cable."""
        match step:
            case SetAnswer(line=line, fashion=fashion, exception=code):
                is_modbus = fashion not in ("on", "off") or code is not None
                if is_modbus and self._format.registers is None:
                    raise ScriptError(line, "only a Modbus gauge can answer so")
                self.manner = replace(self.manner, fashion=fashion, exception=code)
            case SetReply(delay_s=delay_s):
                self.manner = replace(self.manner, delay_s=delay_s)
            case SetEcho(is_on=is_on):
                self.manner = replace(self.manner, has_echo=is_on)
            case AddFault(fault=fault):
                self.faults = () if fault is None else (*self.faults, fault)

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
        """One reading and the time it takes, as often as asked; behind the last the usual time."""
        actions: list[Action] = []
        between_s = self._press_every_s if step.every_s is None else float(step.every_s)
        for number in range(step.times, 0, -1):
            actions.append(self._frame(step.line))
            pause_s = between_s if number > 1 else self._press_every_s
            if pause_s:
                actions += self._pause(pause_s, step.line)
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
            actions += self._pause_until(start_s + float(elapsed), step.line)
            if elapsed < step.seconds:
                actions.append(SendBytes(self._now_s, frame.data, f"{frame.about} (held)"))
        return tuple(actions)

    def _frame(self, line: int) -> SendBytes:
        """Read what is in the gauge and write it down as the gauge sends it.

        Raises ScriptError when the gauge is empty or its format has no room for the number.
        """
        shown = self._gauge.read(self._size(line), self._now_s)
        try:
            data = self._format.encode(shown, self._channel, self._gauge.flags)
        except ValueError as error:
            raise ScriptError(line, f"the gauge cannot send this: {error}") from None
        return SendBytes(self._now_s, data, f"{self._what}: {shown.digits:f} {shown.unit}")

    def _size(self, line: int) -> float:
        """True size in mm of what is in the gauge; ScriptError when nothing is."""
        if self._true_mm is None:
            raise ScriptError(line, "nothing is in the gauge; expected `at` or `stack` before this")
        return self._true_mm

    def _pause(self, seconds: float, line: int) -> tuple[Action, ...]:
        """Let script time pass."""
        return self._pause_until(self._now_s + seconds, line)

    def _pause_until(self, end_s: float, line: int) -> tuple[Action, ...]:
        """Let script time pass up to a moment, and send what a streaming gauge sends meanwhile."""
        actions: list[Action] = []
        while (due_s := self._next_streamed_s()) is not None and due_s < end_s:
            self._streamed += 1
            if due_s > self._now_s:
                actions.append(Pause(self._now_s, due_s - self._now_s))
                self._now_s = due_s
            if self._true_mm is not None:
                frame = self._frame(line)
                actions.append(SendBytes(frame.at_s, frame.data, f"{frame.about} (streamed)"))
        actions.append(Pause(self._now_s, end_s - self._now_s))
        self._now_s = end_s
        return tuple(actions)

    def _next_streamed_s(self) -> float | None:
        """When the next reading of the stream is due; None when none is."""
        if self._stream_hz is None:
            return None
        return self._stream_from_s + self._streamed / self._stream_hz
