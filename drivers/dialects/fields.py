"""What one text frame said, field by field."""

from decimal import Decimal

import msgspec


class Fields(msgspec.Struct, gc=False):
    """The number as it was written, `text` x 10**`exponent10`, and what else the frame said.

    `text` is a sign or none, ASCII digits and at most one point; `decimals` of the digits stand
    behind it. It is empty where the power of ten is larger than is believed: nothing that big is
    built. `step` is one unit of the last digit sent where the form gives it otherwise than by its
    decimals (a fraction: one part of the denominator). `in_range` False: minutes or seconds over
    59, or a power of ten larger than is believed.

    `flags` are in the order of the layout; `no_reading` is the first status that says that there
    is no reading, and why.
    """

    text: str
    exponent10: int = 0
    decimals: int = 0
    step: Decimal | None = None
    in_range: bool = True
    unit: str | None = None
    channel: str | None = None
    flags: tuple[str, ...] = ()
    no_reading: str | None = None

    def flag(self, name: str) -> None:
        """Note a status: "" nothing, "!x" no reading because of x (the first counts), else x."""
        if name.startswith("!"):
            self.no_reading = self.no_reading or name[1:]
        elif name:
            self.flags += (name,)
