"""One gauge block: its nominal length and what its certificate says, as files have it. Pure."""

import math
import re
from decimal import Decimal

import msgspec

from daq.equipment.fields import check_positive, read_length
from daq.lengths import EXACT, Length
from daq.metrology.uncertainty.components import from_expanded
from drivers.toml_file import WrongKey

_SMALL = re.compile(r"([+-]?\d{1,3}(?:\.\d{1,4})?) *(nm|um|µm|μm|uin|µin|μin)", re.ASCII)
_UM_PER = {"nm": Decimal("0.001"), "um": Decimal(1), "uin": Decimal("0.0254")}

MOST_MARK = 40
MOST_K = 10
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


class BlockTable(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One [[block]] of a file; `uncertainty` is expanded, with coverage factor `k`."""

    nominal: str
    deviation: str | None = None
    uncertainty: str | None = None
    k: float = 2.0
    mark: str = ""
    protector: bool = False


def block_in(row: BlockTable, key: str) -> Block:
    """A block of a file, checked; raises WrongKey."""
    check_block(row, key)
    return read_block(row, key)


def read_block(row: BlockTable, key: str) -> Block:
    """A block as written; raises WrongKey for what is no length.

    Of a deviation and its uncertainty one alone certifies nothing.
    """
    nominal = read_length(row.nominal, f"{key}.nominal")
    if row.deviation is None or row.uncertainty is None:
        return Block(nominal, mark=row.mark, is_protector=row.protector)
    return Block(
        nominal,
        _read_small(row.deviation, key),
        _read_small(row.uncertainty, key),
        row.k,
        row.mark,
        row.protector,
    )


def check_block(row: BlockTable, key: str) -> None:
    """Refuse a block that there cannot be; raises WrongKey."""
    check_positive(row.nominal, f"{key}.nominal")
    if len(row.mark) > MOST_MARK or not row.mark.isprintable():
        raise WrongKey(key, f"the mark {row.mark[:50]!r}: at most {MOST_MARK} printable characters")
    nominal = read_length(row.nominal, f"{key}.nominal")
    if (row.deviation is None) != (row.uncertainty is None):
        missing, other = (
            ("uncertainty", "deviation")
            if row.uncertainty is None
            else ("deviation", "uncertainty")
        )
        raise WrongKey(
            key,
            f"{nominal} has a {other} but no {missing}: copy both from the certificate, or neither",
        )
    if row.deviation is None or row.uncertainty is None:
        return
    if abs(_read_small(row.deviation, key)) > MOST_DEVIATION_UM:
        raise WrongKey(
            key,
            (
                f"a deviation of {row.deviation} of {nominal}: over {MOST_DEVIATION_UM} um it "
                "is no gauge block. Is the unit right?"
            ),
        )
    if _read_small(row.uncertainty, key) <= 0:
        raise WrongKey(key, f"the uncertainty {row.uncertainty} of {nominal} is not above zero")
    if not (math.isfinite(row.k) and 1 <= row.k <= MOST_K):
        raise WrongKey(
            key,
            f"k = {row.k:g} of {nominal} is not between 1 and {MOST_K}; certificates mostly say "
            "k = 2",
        )


def _read_small(text: str, key: str) -> Decimal:
    try:
        return parse_small(text)
    except ValueError as error:
        raise WrongKey(key, str(error)) from error
