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
