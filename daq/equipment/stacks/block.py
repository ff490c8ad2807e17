"""One gauge block: its nominal length and what its certificate says. Pure."""

import math
import re
from decimal import Decimal

import msgspec

from daq.lengths import EXACT, Length
from daq.metrology.uncertainty.components import from_expanded

_SMALL = re.compile(r"([+-]?\d{1,3}(?:\.\d{1,4})?) *(nm|um|µm|μm|uin|µin|μin)", re.ASCII)
_UM_PER = {"nm": Decimal("0.001"), "um": Decimal(1), "uin": Decimal("0.0254")}


MOST_DEVIATION_UM = 10
"""Chosen by us: more than twice the widest limits of ISO 3650 for 500 mm."""


class Block(msgspec.Struct, frozen=True):
    """A gauge block. `deviation_um`: its certified length less nominal, None if not certified;
    `uncertainty_um`: the certificate's expanded uncertainty, `k` its coverage factor. `mark`: the
    number engraved on it, if the shop goes by it.
    """

    nominal: Length
    deviation_um: Decimal | None = None
    uncertainty_um: Decimal | None = None
    k: float = 2.0
    mark: str = ""
    is_protector: bool = False

    @property
    def is_certified(self) -> bool:
        """Its certificate's deviation is known, with the uncertainty of that."""
        return self.deviation_um is not None and self.uncertainty_um is not None

    @property
    def certificate_u_um(self) -> float:
        """Standard uncertainty of the certified deviation in um; 0 without a certificate."""
        return from_expanded(float(self.uncertainty_um or 0), self.k)

    def __str__(self) -> str:
        words = f"{self.nominal}{f' #{self.mark}' if self.mark else ''}"
        return f"{words} (protector)" if self.is_protector else words


def parse_small(text: str) -> Decimal:
    """A deviation like "+0.05 um" or "2 uin", in um, exactly; raises ValueError with the reason."""
    found = _SMALL.fullmatch(text.strip())
    if found is None:
        raise ValueError(
            f'{text[:60]!r} is not a small length with its unit, like "+0.05 um", "-30 nm" or '
            '"2 uin"'
        )
    unit = found[2].replace("µ", "u").replace("μ", "u")
    return EXACT.multiply(Decimal(found[1]), _UM_PER[unit])


def block(
    nominal: Length,
    deviation: str | None,
    uncertainty: str | None,
    k: float,
    mark: str = "",
    *,
    is_protector: bool = False,
) -> Block:
    """A block from the words of a file; raises ValueError with the reason."""
    if nominal.value <= 0:
        raise ValueError(f"{nominal} is not above zero")
    if len(mark) > 40 or not mark.isprintable():
        raise ValueError(f"the mark {mark[:50]!r}: at most 40 printable characters")
    if (deviation is None) != (uncertainty is None):
        missing, other = (
            ("uncertainty", "deviation") if uncertainty is None else ("deviation", "uncertainty")
        )
        raise ValueError(
            f"{nominal} has a {other} but no {missing}: copy both from the certificate, or neither"
        )
    if deviation is None or uncertainty is None:
        return Block(nominal, mark=mark, is_protector=is_protector)
    if abs(parse_small(deviation)) > MOST_DEVIATION_UM:
        raise ValueError(
            f"a deviation of {deviation} of {nominal}: over {MOST_DEVIATION_UM} um it is no gauge "
            "block, or the unit is another"
        )
    known = parse_small(uncertainty)
    if known <= 0:
        raise ValueError(f"the uncertainty {uncertainty} of {nominal} is not above zero")
    if not (math.isfinite(k) and 1 <= k <= 10):
        raise ValueError(
            f"k = {k:g} of {nominal} is not between 1 and 10; certificates mostly say k = 2"
        )
    return Block(nominal, parse_small(deviation), known, k, mark, is_protector)
