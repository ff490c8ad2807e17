"""A gauge on a Modbus RTU line: requests in, replies out. No clock and no link.

Source: the Modbus application protocol 1.1b3 and the serial line guide 1.02, from memory: unit,
function, data, CRC; an error is the function with its high bit set and a code.
"""

from __future__ import annotations

from simulator.checksums import modbus_crc
from simulator.registers import Registers

READ_HOLDING, READ_INPUT = 3, 4
ILLEGAL_FUNCTION, ILLEGAL_ADDRESS, ILLEGAL_VALUE, DEVICE_FAILURE = 1, 2, 3, 4
MOST_REGISTERS = 125
LONGEST_FRAME = 256

SILENCE_S = 0.05
"""So much silence ends a request that never got whole. Chosen by us: the standard's 3.5 characters
are more exact than what adapters and terminals keep."""

_FIXED_SIZE = {1: 8, 2: 8, 3: 8, 4: 8, 5: 8, 6: 8}
_WRITES = (15, 16)


def framed(unit_id: int, body: bytes) -> bytes:
    """A frame of this unit: function and data in body, CRC behind."""
    frame = bytes([unit_id]) + body
    return frame + modbus_crc(frame)


def exception(unit_id: int, function: int, code: int) -> bytes:
    """The frame that says why there is no answer."""
    return framed(unit_id, bytes([function | 0x80, code]))


def reading_reply(unit_id: int, function: int, data: bytes) -> bytes:
    """The frame that brings registers."""
    return framed(unit_id, bytes([function, len(data)]) + data)


class RequestTaker:
    """Finds requests in the bytes that come, in whatever pieces. It keeps 256 bytes at most."""

    def __init__(self) -> None:
        self._held = b""
        self._last_s = 0.0

    def take(self, data: bytes, at_s: float) -> list[bytes]:
        """Whole requests with a right CRC, check bytes included; what is wrong is passed over."""
        if at_s - self._last_s >= SILENCE_S:
            self._held = b""
        self._last_s = at_s
        self._held = (self._held + data)[-LONGEST_FRAME:]
        requests = []
        while (size := self._size()) is not None and len(self._held) >= size:
            frame = self._held[:size]
            if modbus_crc(frame[:-2]) != frame[-2:]:
                # Nothing says where the next one begins: wait for the line to fall silent.
                if frame[1] in _FIXED_SIZE or frame[1] in _WRITES:
                    self._held = b""
                break
            requests.append(frame)
            self._held = self._held[size:]
        return requests

    def _size(self) -> int | None:
        """How long the request in front is; None if that cannot be told yet."""
        if len(self._held) < 4:
            return None
        function = self._held[1]
        if function in _WRITES:
            return self._held[6] + 9 if len(self._held) > 6 else None
        return _FIXED_SIZE.get(function, len(self._held))


def asked_for(registers: Registers, request: bytes) -> tuple[int, int] | int:
    """First byte and number of bytes that a request wants, or the exception code it gets."""
    if request[1] not in (READ_HOLDING, READ_INPUT):
        return ILLEGAL_FUNCTION
    address = int.from_bytes(request[2:4], "big")
    count = int.from_bytes(request[4:6], "big")
    if not 1 <= count <= MOST_REGISTERS:
        return ILLEGAL_VALUE
    first = address - registers.address
    if first < 0 or first + count > registers.count:
        return ILLEGAL_ADDRESS
    return 2 * first, 2 * count
