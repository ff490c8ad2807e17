"""A size in the 16-bit registers of a Modbus gauge."""

from __future__ import annotations

import struct
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, get_args

from simulator.gauge import Shown
from simulator.rounding import to_step

Kind = Literal["int16", "uint16", "int32", "uint32", "float32"]
Words = Literal["big", "little"]
"""Which of two registers comes first: the high one, or the low one."""

_SIZES = {"int16": 2, "uint16": 2, "int32": 4, "uint32": 4, "float32": 4}


@dataclass(frozen=True, slots=True)
class Registers:
    """How a size is put into registers: as this kind of number, at this place, in millimetres.

    Whole numbers count steps of 10 to the power of minus decimals; float32 is the size itself.
    Raises ValueError for settings no gauge has.
    """

    kind: Kind = "int32"
    words: Words = "big"
    decimals: int = 3
    address: int = 0

    def __post_init__(self) -> None:
        if self.kind not in get_args(Kind):
            raise ValueError(f"a register holds {', '.join(get_args(Kind))}, not {self.kind!r}")
        if self.words not in get_args(Words):
            raise ValueError(f"words are big or little, not {self.words!r}")
        if not 0 <= self.decimals <= 9:
            raise ValueError(f"decimals are 0 to 9, not {self.decimals}")
        if not 0 <= self.address <= 0x10000 - self.count:
            raise ValueError(f"register addresses are 0 to 65535, not {self.address}")

    @property
    def count(self) -> int:
        """How many registers it takes, 1 or 2."""
        return _SIZES[self.kind] // 2

    def written(self, shown: Shown) -> bytes:
        """The registers' bytes in the order of their addresses, high byte first in each.

        Raises ValueError for a size that does not fit, or one in inches: these are millimetres.
        """
        if shown.unit != "mm":
            raise ValueError(f"its registers are in millimetres and it shows {shown.unit}")
        high_first = self._number(shown.digits)
        if self.words == "little":
            return high_first[2:] + high_first[:2]
        return high_first

    def _number(self, digits: Decimal) -> bytes:
        """The number with its high byte first."""
        if self.kind == "float32":
            return struct.pack(">f", float(digits))
        steps = to_step(digits, Decimal(1).scaleb(-self.decimals)).scaleb(self.decimals)
        try:
            is_signed = self.kind.startswith("int")
            return int(steps).to_bytes(_SIZES[self.kind], "big", signed=is_signed)
        except OverflowError:
            raise ValueError(f"{digits} mm is {int(steps)} steps: no {self.kind}") from None
