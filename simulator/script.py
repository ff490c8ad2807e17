"""The language of a simulated session: one command a line, ``#`` begins a comment.

at JOURNAL front|middle|rear|FRACTION ANGLE    put a journal in the gauge
stack SIZE mm|in                               put a stack of gauge blocks in the gauge
press [TIMES [every SECONDS]]                  press the send button, at a spacing of its own
hold SECONDS                                   hold it down: one frame, over and over
unit mm|in                                     show this unit from now on
zero                                           set the gauge on what is in it
wait [SECONDS]                                 do nothing; a stream goes on; a day if left out
bias MM                                        read this much too large from now on
drift MM_PER_HOUR                              drift at this rate from now on
raw HEX                                        send just these bytes
unplug                                         pull the cable
replug [PATH]                                  plug it in again, by another name if PATH is given
stream HZ|off                                  send readings all the time, so many a second
answer on|off|wrong-crc|wrong-unit             answer or not, rightly or not (wrong: Modbus only)
answer exception CODE                          answer with a Modbus exception, 1 to 255
reply MS                                       answer so many milliseconds after the request
echo on|off                                    send each request back before the answer
fault NAME[=RATE]|off                          one more fault on the cable, or no fault at all
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal

from simulator.errors import ScriptError, SimulatorError
from simulator.faults import parse_fault
from simulator.gauge import MM_PER_INCH, Unit
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

__all__ = [
    "STATIONS",
    "AddFault",
    "Hold",
    "PlugIn",
    "Press",
    "PullCable",
    "PutJournal",
    "PutStack",
    "SendRaw",
    "SetAnswer",
    "SetBias",
    "SetDrift",
    "SetEcho",
    "SetReply",
    "ShowUnit",
    "Step",
    "Stream",
    "Wait",
    "Zero",
    "parse",
    "parse_line",
    "parse_lines",
]

STATIONS = {"front": 0.0, "middle": 0.5, "rear": 1.0}

# A script that asks for more than this has a finger left on a key in it.
MOST_PRESSES = 1000
LONGEST_EVERY_S = 600
LONGEST_HOLD_S = 600
LONGEST_WAIT_S = 86400
LARGEST_STACK = 1000
FASTEST_STREAM_HZ = 1000
LONGEST_REPLY_MS = 60000

_NUMBER = re.compile(r"[+-]?[0-9]{1,12}(\.[0-9]{1,12})?", re.ASCII)
_COUNT = re.compile(r"[0-9]{1,9}", re.ASCII)
_HEX = re.compile(r"([0-9A-Fa-f]{2})+", re.ASCII)


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
    every_s = None
    match words:
        case [_, "every", seconds]:
            every_s = _seconds([seconds], LONGEST_EVERY_S)
            times = words[0]
        case _:
            (times,) = _exactly(1, words)
    if not _COUNT.fullmatch(times) or not 1 <= int(times) <= MOST_PRESSES:
        raise _NotThisError(f"TIMES is a whole number from 1 to {MOST_PRESSES}, not {times!r}")
    return Press(line, int(times), every_s)


def _read_hold(line: int, words: list[str]) -> Step:
    return Hold(line, _seconds(words, LONGEST_HOLD_S))


def _read_unit(line: int, words: list[str]) -> Step:
    (unit,) = _exactly(1, words)
    return ShowUnit(line, _unit(unit))


def _read_zero(line: int, words: list[str]) -> Step:
    _exactly(0, words)
    return Zero(line)


def _read_wait(line: int, words: list[str]) -> Step:
    if not words:
        return Wait(line, Decimal(LONGEST_WAIT_S))
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


def _read_replug(line: int, words: list[str]) -> Step:
    if not words:
        return PlugIn(line, None)
    (path,) = _exactly(1, words)
    return PlugIn(line, path)


def _read_stream(line: int, words: list[str]) -> Step:
    (rate,) = _exactly(1, words)
    if rate == "off":
        return Stream(line, None)
    hz = _number("HZ", rate)
    if not 0 < hz <= FASTEST_STREAM_HZ:
        raise _NotThisError(f"HZ lies above 0 and up to {FASTEST_STREAM_HZ}, not {rate}")
    return Stream(line, float(hz))


def _read_answer(line: int, words: list[str]) -> Step:
    match words:
        case ["on" | "off" | "wrong-crc" | "wrong-unit" as fashion]:
            return SetAnswer(line, fashion)
        case ["exception", code] if _COUNT.fullmatch(code) and 1 <= int(code) <= 255:
            return SetAnswer(line, "on", int(code))
    raise _NotThisError(f"there is no such answer as {' '.join(words)!r}")


def _read_reply(line: int, words: list[str]) -> Step:
    (word,) = _exactly(1, words)
    milliseconds = _number("MS", word)
    if not 0 <= milliseconds <= LONGEST_REPLY_MS:
        raise _NotThisError(f"MS lies from 0 to {LONGEST_REPLY_MS}, not {word}")
    return SetReply(line, float(milliseconds / 1000))


def _read_echo(line: int, words: list[str]) -> Step:
    (word,) = _exactly(1, words)
    if word not in ("on", "off"):
        raise _NotThisError(f"it is on or off, not {word!r}")
    return SetEcho(line, word == "on")


def _read_fault(line: int, words: list[str]) -> Step:
    (word,) = _exactly(1, words)
    if word == "off":
        return AddFault(line, None)
    try:
        return AddFault(line, parse_fault(word))
    except SimulatorError as error:
        raise _NotThisError(str(error)) from None


_COMMANDS: dict[str, tuple[str, Callable[[int, list[str]], Step]]] = {
    "at": ("at JOURNAL front|middle|rear|FRACTION ANGLE", _read_at),
    "stack": ("stack SIZE mm|in", _read_stack),
    "press": ("press [TIMES [every SECONDS]]", _read_press),
    "hold": ("hold SECONDS", _read_hold),
    "unit": ("unit mm|in", _read_unit),
    "zero": ("zero", _read_zero),
    "wait": ("wait [SECONDS]", _read_wait),
    "bias": ("bias MM", _read_bias),
    "drift": ("drift MM_PER_HOUR", _read_drift),
    "raw": ("raw HEX", _read_raw),
    "unplug": ("unplug", _read_unplug),
    "replug": ("replug [PATH]", _read_replug),
    "stream": ("stream HZ|off", _read_stream),
    "answer": ("answer on|off|wrong-crc|wrong-unit|exception CODE", _read_answer),
    "reply": ("reply MS", _read_reply),
    "echo": ("echo on|off", _read_echo),
    "fault": ("fault NAME[=RATE]|off", _read_fault),
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
