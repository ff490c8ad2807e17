"""The language of a simulated session: one command a line, ``#`` begins a comment.

at JOURNAL front|middle|rear|FRACTION ANGLE    put a journal in the gauge
stack SIZE mm|in                               put a stack of gauge blocks in the gauge
press [TIMES]                                  press the send button
hold SECONDS                                   hold it down: one frame, over and over
unit mm|in                                     show this unit from now on
zero                                           set the gauge on what is in it
wait SECONDS                                   do nothing
bias MM                                        read this much too large from now on
drift MM_PER_HOUR                              drift at this rate from now on
raw HEX                                        send just these bytes
unplug                                         pull the cable
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from simulator.errors import ScriptError
from simulator.gauge import MM_PER_INCH, Unit

STATIONS = {"front": 0.0, "middle": 0.5, "rear": 1.0}

# A script that asks for more than this has a finger left on a key in it.
MOST_PRESSES = 1000
LONGEST_HOLD_S = 600
LONGEST_WAIT_S = 86400
LARGEST_STACK = 1000

_NUMBER = re.compile(r"[+-]?[0-9]{1,12}(\.[0-9]{1,12})?", re.ASCII)
_COUNT = re.compile(r"[0-9]{1,9}", re.ASCII)
_HEX = re.compile(r"([0-9A-Fa-f]{2})+", re.ASCII)


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
    """Press the send button so many times; each press is a reading of its own."""

    line: int
    times: int


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
)


def parse(text: str) -> tuple[Step, ...]:
    """All steps of a script; ScriptError with line number and what was expected."""
    return tuple(parse_lines(text.splitlines()))


def parse_lines(lines: Iterable[str]) -> Iterator[Step]:
    """Steps of a script one by one as its lines come, so that it may be typed while it plays.

    Raises ScriptError on reaching a line that is not understood.
    """
    for line, text in enumerate(lines, start=1):
        step = parse_line(line, text)
        if step is not None:
            yield step


def parse_line(line: int, text: str) -> Step | None:
    """The step on one line, None when it is blank or all comment; ScriptError otherwise."""
    words = text.partition("#")[0].split()
    if not words:
        return None
    command, *arguments = words
    known = _COMMANDS.get(command)
    if known is None:
        raise ScriptError(line, f"unknown command {command!r}; known: {', '.join(_COMMANDS)}")
    usage, read = known
    try:
        return read(line, arguments)
    except _NotThisError as error:
        raise ScriptError(line, f"expected `{usage}`: {error}") from None


class _NotThisError(Exception):
    """An argument is not what its command takes; says which and why."""


# Each of these takes the line number and the words behind the command.


def _read_at(line: int, words: list[str]) -> Step:
    journal, station, angle = _exactly(3, words)
    if station in STATIONS:
        along = STATIONS[station]
    else:
        along = float(_number("the station", station))
        if not 0.0 <= along <= 1.0:
            raise _NotThisError(f"the station lies from 0 (front) to 1 (rear), not {station}")
    return PutJournal(line, journal, along, float(_number("the angle in degrees", angle)))


def _read_stack(line: int, words: list[str]) -> Step:
    size, unit = _exactly(2, words)
    number = _number("the size", size)
    if not 0 < number <= LARGEST_STACK:
        raise _NotThisError(f"the size is above 0 and at most {LARGEST_STACK}, not {size}")
    size_mm = number * Decimal(str(MM_PER_INCH)) if _unit(unit) == "in" else number
    return PutStack(line, size_mm, f"{size} {unit}")


def _read_press(line: int, words: list[str]) -> Step:
    if not words:
        return Press(line, 1)
    (times,) = _exactly(1, words)
    if not _COUNT.fullmatch(times) or not 1 <= int(times) <= MOST_PRESSES:
        raise _NotThisError(f"TIMES is a whole number from 1 to {MOST_PRESSES}, not {times!r}")
    return Press(line, int(times))


def _read_hold(line: int, words: list[str]) -> Step:
    return Hold(line, _seconds(words, LONGEST_HOLD_S))


def _read_unit(line: int, words: list[str]) -> Step:
    (unit,) = _exactly(1, words)
    return ShowUnit(line, _unit(unit))


def _read_zero(line: int, words: list[str]) -> Step:
    _exactly(0, words)
    return Zero(line)


def _read_wait(line: int, words: list[str]) -> Step:
    return Wait(line, _seconds(words, LONGEST_WAIT_S))


def _read_bias(line: int, words: list[str]) -> Step:
    (bias,) = _exactly(1, words)
    return SetBias(line, float(_number("the bias in mm", bias)))


def _read_drift(line: int, words: list[str]) -> Step:
    (rate,) = _exactly(1, words)
    return SetDrift(line, float(_number("the drift in mm per hour", rate)))


def _read_raw(line: int, words: list[str]) -> Step:
    digits = "".join(words)
    if not _HEX.fullmatch(digits):
        raise _NotThisError("HEX is pairs of hexadecimal digits, spaces between them or not")
    return SendRaw(line, bytes.fromhex(digits))


def _read_unplug(line: int, words: list[str]) -> Step:
    _exactly(0, words)
    return PullCable(line)


_COMMANDS: dict[str, tuple[str, Callable[[int, list[str]], Step]]] = {
    "at": ("at JOURNAL front|middle|rear|FRACTION ANGLE", _read_at),
    "stack": ("stack SIZE mm|in", _read_stack),
    "press": ("press [TIMES]", _read_press),
    "hold": ("hold SECONDS", _read_hold),
    "unit": ("unit mm|in", _read_unit),
    "zero": ("zero", _read_zero),
    "wait": ("wait SECONDS", _read_wait),
    "bias": ("bias MM", _read_bias),
    "drift": ("drift MM_PER_HOUR", _read_drift),
    "raw": ("raw HEX", _read_raw),
    "unplug": ("unplug", _read_unplug),
}


def _exactly(count: int, words: list[str]) -> list[str]:
    """The words, when there are as many as the command takes."""
    if len(words) != count:
        raise _NotThisError(f"it takes {count or 'no'} argument(s), not {len(words)}")
    return words


def _number(what: str, word: str) -> Decimal:
    """A plain decimal number, with a point and without powers of ten."""
    if not _NUMBER.fullmatch(word):
        raise _NotThisError(f"{what} is a number like 59.97, not {word!r}")
    return Decimal(word)


def _seconds(words: list[str], longest_s: int) -> Decimal:
    """The one argument as a time, from zero to the longest allowed."""
    (word,) = _exactly(1, words)
    seconds = _number("SECONDS", word)
    if not 0 <= seconds <= longest_s:
        raise _NotThisError(f"SECONDS lies from 0 to {longest_s}, not {word}")
    return seconds


def _unit(word: str) -> Unit:
    """One of the two units."""
    if word == "mm":
        return "mm"
    if word == "in":
        return "in"
    raise _NotThisError(f"the unit is mm or in, not {word!r}")
