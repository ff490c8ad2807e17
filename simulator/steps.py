"""The steps of a simulated session; each carries the number of its script line."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from simulator.answering import Fashion
from simulator.faults import Fault
from simulator.gauge import Unit


@dataclass(frozen=True, slots=True)
class PutJournal:
    """Put a journal between the anvils; along is 0.0 front to 1.0 rear, the angle in degrees."""

    line: int
    journal: str
    along: float
    angle_deg: float


@dataclass(frozen=True, slots=True)
class PutStack:
    """Put a stack of gauge blocks between the anvils; its size in mm, and as it was written."""

    line: int
    size_mm: Decimal
    written: str


@dataclass(frozen=True, slots=True)
class Press:
    """Press the send button so many times; each press is a reading of its own.

    every_s seconds lie between them if given: a hand that presses twice, a contact that bounces.
    """

    line: int
    times: int
    every_s: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Hold:
    """Hold the send button down for so many seconds."""

    line: int
    seconds: Decimal


@dataclass(frozen=True, slots=True)
class ShowUnit:
    """Show this unit from now on."""

    line: int
    unit: Unit


@dataclass(frozen=True, slots=True)
class Zero:
    """Set the gauge on what is between its anvils."""

    line: int


@dataclass(frozen=True, slots=True)
class Wait:
    """Do nothing for so many seconds."""

    line: int
    seconds: Decimal


@dataclass(frozen=True, slots=True)
class SetBias:
    """Read this many mm too large from now on; negative reads too small."""

    line: int
    bias_mm: float


@dataclass(frozen=True, slots=True)
class SetDrift:
    """Drift by this many mm per hour from now on; positive drifts towards too large."""

    line: int
    mm_per_hour: float


@dataclass(frozen=True, slots=True)
class SendRaw:
    """Send just these bytes, whatever the gauge shows."""

    line: int
    data: bytes


@dataclass(frozen=True, slots=True)
class PullCable:
    """Pull the cable."""

    line: int


@dataclass(frozen=True, slots=True)
class PlugIn:
    """Plug the cable in again; path is another name for it, None for the one it had."""

    line: int
    path: str | None


@dataclass(frozen=True, slots=True)
class Stream:
    """Send readings all the time, so many a second; None stops it."""

    line: int
    hz: float | None


@dataclass(frozen=True, slots=True)
class SetAnswer:
    """Answer in this fashion from now on, or with this exception code."""

    line: int
    fashion: Fashion
    exception: int | None = None


@dataclass(frozen=True, slots=True)
class SetReply:
    """Answer so many seconds after the request from now on."""

    line: int
    delay_s: float


@dataclass(frozen=True, slots=True)
class SetEcho:
    """Send requests back before answering, or stop doing so."""

    line: int
    is_on: bool


@dataclass(frozen=True, slots=True)
class AddFault:
    """Put one more fault on the cable; None takes all of them away."""

    line: int
    fault: Fault | None


Step = (
    PutJournal
    | PutStack
    | Press
    | Hold
    | ShowUnit
    | Zero
    | Wait
    | SetBias
    | SetDrift
    | SendRaw
    | PullCable
    | PlugIn
    | Stream
    | SetAnswer
    | SetReply
    | SetEcho
    | AddFault
)
