"""Check characters by name."""

from collections.abc import Callable
from functools import reduce
from operator import xor

CHECKSUMS: dict[str, Callable[[bytes], int]] = {
    "xor8": lambda data: reduce(xor, data, 0),
    "sum8": lambda data: sum(data) & 0xFF,
}
"""Each takes the bytes that are summed and gives 0..255.

Source: longitudinal XOR and modulo-256 sum, common practice for serial frames, no source.
"""
