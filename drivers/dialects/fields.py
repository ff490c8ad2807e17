"""What one text frame said: its number as written, its unit, and all else."""

from decimal import Decimal
from typing import TypeAlias

import msgspec

Written: TypeAlias = tuple[str, int, int, Decimal | None, bool]
"""A number: (text, exponent10, decimals, step, in_range), meaning `text` x 10**`exponent10`.

`text` is a sign or none, ASCII digits and at most one point; `decimals` of the digits stand behind
it. It is empty where the power of ten is larger than is believed: nothing that big is built. `step`
is one unit of the last digit sent where the form gives it otherwise than by its decimals (a
fraction: one part of the denominator). `in_range` False: minutes or seconds over 59, or such a
power of ten.
"""


def written(
    text: str,
    exponent10: int = 0,
    decimals: int = 0,
    step: Decimal | None = None,
    in_range: bool = True,
) -> Written:
    """A number as it was written, of what is known of it."""
    return text, exponent10, decimals, step, in_range


TOO_LARGE = written("", in_range=False)


class Extras(msgspec.Struct, gc=False):
    """What a frame said besides number and unit; `flags` in the order of the layout.

    `no_reading` is the first status that says that there is no reading, and why.
    """

    channel: str | None = None
    flags: tuple[str, ...] = ()
    no_reading: str | None = None

    def flag(self, name: str) -> None:
        """Note a status: "" nothing, "!x" no reading because of x (the first counts), else x."""
        if name.startswith("!"):
            self.no_reading = self.no_reading or name[1:]
        elif name:
            self.flags += (name,)


Fields: TypeAlias = tuple[Written, str | None, Extras]
"""Number, unit (None: the frame names none) and what else was said."""
