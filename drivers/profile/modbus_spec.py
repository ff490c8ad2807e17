"""The registers that a Modbus RTU profile asks for, as declared."""

from typing import Literal

import msgspec

REGISTERS = {"int16": 1, "uint16": 1, "int32": 2, "uint32": 2, "float32": 2}
"""Registers of 16 bits that one number of each type takes."""

LONGEST_REPLY = 5 + 255
"""Bytes of the longest frame that a byte count can announce."""


class Modbus(msgspec.Struct, frozen=True):
    """Which registers are read, and how they make a number.

    `address` is that of the wire, from 0. `little` says that the low word comes first; the two
    bytes of a register always come high byte first. `sentinel` is the number's bit pattern,
    high byte first, that means no reading, and its name.
    """

    unit_id: int
    function: Literal[3, 4]
    address: int
    count: int
    type: Literal["int16", "uint16", "int32", "uint32", "float32"]
    little: bool
    decimals: int
    sentinel: tuple[bytes, str] | None
