"""Check characters by name, and the CRC of Modbus."""

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


def _crc16_of_byte(byte: int) -> int:
    for _ in range(8):
        byte = byte >> 1 ^ (0xA001 if byte & 1 else 0)
    return byte


_CRC16 = tuple(_crc16_of_byte(byte) for byte in range(256))


def crc16_modbus(data: bytes) -> int:
    """CRC-16/MODBUS, 0..65535; on the wire its low byte goes first.

    Polynomial 8005 reflected (A001), start FFFF, no final XOR. Source: Modbus over Serial Line
    V1.02, 6.2.2 (from memory); check value in the catalogue of parametrised CRC algorithms.
    """
    crc = 0xFFFF
    for byte in data:
        crc = crc >> 8 ^ _CRC16[(crc ^ byte) & 0xFF]
    return crc
