"""How a gauge answers what it is asked: by text, or by Modbus. No clock and no link."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, Protocol

from simulator.formats import Format
from simulator.modbus import (
    DEVICE_FAILURE,
    RequestTaker,
    asked_for,
    exception,
    framed,
    reading_reply,
)
from simulator.registers import Registers

Fashion = Literal["on", "off", "wrong-crc", "wrong-unit"]
"""Whether and how it answers; the last two need a Modbus gauge."""

Measure = Callable[[], tuple[bytes, str] | None]
"""A reading taken now, as it is sent, with what it is of; None while nothing is in the gauge."""

MODBUS_UNITS = range(1, 248)


@dataclass(frozen=True, slots=True)
class Manner:
    """How it answers just now. An exception code, 1 to 255, is answered in place of a reading.

    Delay in seconds from the end of the request. With has_echo the request comes back first.
    """

    fashion: Fashion = "on"
    exception: int | None = None
    delay_s: float = 0.02
    has_echo: bool = False


@dataclass(frozen=True, slots=True)
class Reply:
    """Send these bytes so many seconds from now; about says what they tell."""

    delay_s: float
    data: bytes
    about: str


class Answerer(Protocol):
    """The listening half of a gauge."""

    def hear(self, data: bytes, at_s: float, manner: Manner) -> list[Reply]:
        """Take bytes that came at this many seconds, and tell what is to be sent, in order."""
        ...


class TextAnswerer:
    """Answers each trigger text with a reading; hears whatever else comes and says nothing."""

    def __init__(self, trigger: bytes, measure: Measure) -> None:
        if not trigger:
            raise ValueError("a gauge cannot be asked with an empty text")
        self._trigger = trigger
        self._measure = measure
        self._held = b""

    def hear(self, data: bytes, at_s: float, manner: Manner) -> list[Reply]:
        """One reading for each whole trigger, none while nothing is in the gauge."""
        *triggers, rest = (self._held + data).split(self._trigger)
        # Only what may be the beginning of a trigger needs to be kept.
        keep = len(self._trigger) - 1
        self._held = rest[-keep:] if keep else b""
        replies: list[Reply] = []
        for _ in triggers:
            if manner.has_echo:
                replies.append(Reply(0.0, self._trigger, "the echo of the request"))
            measured = self._measure() if manner.fashion == "on" else None
            if measured is not None:
                replies.append(Reply(manner.delay_s, *measured))
        return replies


class ModbusAnswerer:
    """Answers requests to one unit for the registers of its size, holding or input alike.

    measure gives the bytes of all its registers. With nothing in the gauge it answers with
    exception 4. Other units' requests, wrong ones and broadcasts get no answer.
    """

    def __init__(self, unit_id: int, registers: Registers, measure: Measure) -> None:
        if unit_id not in MODBUS_UNITS:
            raise ValueError(f"a Modbus unit has a number from 1 to 247, not {unit_id}")
        self._unit_id = unit_id
        self._registers = registers
        self._measure = measure
        self._taker = RequestTaker()

    def hear(self, data: bytes, at_s: float, manner: Manner) -> list[Reply]:
        """One reply at most for each whole request."""
        replies: list[Reply] = []
        for request in self._taker.take(data, at_s):
            if manner.has_echo:
                replies.append(Reply(0.0, request, "the echo of the request"))
            if request[0] == self._unit_id and manner.fashion != "off":
                replies.append(self._answered(request, manner))
        return replies

    def _answered(self, request: bytes, manner: Manner) -> Reply:
        """The reply in its manner."""
        frame, about = self._right_answer(request, manner)
        if manner.fashion == "wrong-crc":
            frame, about = frame[:-1] + bytes([frame[-1] ^ 0xFF]), f"{about} (wrong CRC)"
        elif manner.fashion == "wrong-unit":
            other = self._unit_id % MODBUS_UNITS[-1] + 1
            frame, about = framed(other, frame[1:-2]), f"{about} (as unit {other})"
        return Reply(manner.delay_s, frame, about)

    def _right_answer(self, request: bytes, manner: Manner) -> tuple[bytes, str]:
        """Registers, or the exception that is due."""
        function = request[1] & 0x7F
        wanted = asked_for(self._registers, request)
        measured = None
        if manner.exception is not None:
            wanted = manner.exception
        elif not isinstance(wanted, int):
            measured = self._measure()
        if isinstance(wanted, int) or measured is None:
            code = wanted if isinstance(wanted, int) else DEVICE_FAILURE
            return exception(self._unit_id, function, code), f"exception {code:02d}"
        (first, size), (data, about) = wanted, measured
        return reading_reply(self._unit_id, function, data[first : first + size]), about


def answerer_for(
    format_: Format, unit_id: int, measure: Measure, trigger: bytes | None = None
) -> Answerer | None:
    """The listening half of a gauge of this format; None for one that is deaf.

    trigger makes any text gauge one that is asked with it. Raises ValueError for one that a Modbus
    gauge would need.
    """
    if format_.registers is not None:
        if trigger is not None:
            raise ValueError("a Modbus gauge is asked by Modbus requests, not by a text")
        return ModbusAnswerer(unit_id, format_.registers, measure)
    trigger = format_.asked if trigger is None else trigger
    return None if trigger is None else TextAnswerer(trigger, measure)
