"""Check bytes that gauges put behind their text."""

from __future__ import annotations


def xor_of(data: bytes) -> int:
    """All bytes joined by exclusive or, 0 to 255; 0 for no bytes."""
    result = 0
    for byte in data:
        result ^= byte
    return result


def sum_of(data: bytes) -> int:
    """The low eight bits of the sum of all bytes, 0 to 255; 0 for no bytes."""
    result = 0
    for byte in data:
        result = (result + byte) & 0xFF
    return result


def modbus_crc(data: bytes) -> bytes:
    """The two check bytes of a Modbus RTU frame, low byte first.

    Source: polynomial A001 hex, reflected, from FFFF hex; 01 03 00 00 00 0A gives C5 CD.
    """
    register = 0xFFFF
    for byte in data:
        register ^= byte
        for _ in range(8):
            out = register & 1
            register >>= 1
            if out:
                register ^= 0xA001
    return register.to_bytes(2, "little")
