"""Grades of gauge blocks: how far a block may lie from its nominal length, by size. Pure.

Sources: ISO 3650 (grades 0, 1, 2 up to 150 mm read in the table of DIN 861, which corresponds to
it; grade K, and all grades over 150 mm, from memory). ASME B89.1.9 for blocks made in inches (the
band over 0.4 up to 1 in read, the rest from memory).
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from daq.lengths import EXACT, Length, to_mm

GRADES = ("K", "0", "1", "2", "AS-1", "AS-2")
"""The grades known here; the last two are those of ASME B89.1.9."""

_ISO: Sequence[tuple[Decimal, Mapping[str, str]]] = tuple(
    (Decimal(most), dict(zip(("K", "0", "1", "2"), limits, strict=True)))
    for most, *limits in (
        (10, "0.20", "0.12", "0.20", "0.45"),
        (25, "0.30", "0.14", "0.30", "0.60"),
        (50, "0.40", "0.20", "0.40", "0.80"),
        (75, "0.50", "0.25", "0.50", "1.00"),
        (100, "0.60", "0.30", "0.60", "1.20"),
        (150, "0.80", "0.40", "0.80", "1.60"),
        (200, "1.00", "0.50", "1.00", "2.00"),
        (250, "1.20", "0.60", "1.20", "2.40"),
        (300, "1.40", "0.70", "1.40", "2.80"),
        (400, "1.80", "0.90", "1.80", "3.60"),
        (500, "2.20", "1.10", "2.20", "4.40"),
    )
)
"""Largest length of the band in mm, and by grade the limit deviation in um: t_e of ISO 3650."""

_ASME: Sequence[tuple[Decimal, Mapping[str, str]]] = tuple(
    (Decimal(most), dict(zip(("K", "0", "AS-1", "AS-2"), limits, strict=True)))
    for most, *limits in (
        ("0.4", "10", "5", "8", "18"),
        ("1", "12", "6", "12", "24"),
        ("2", "16", "8", "16", "32"),
        ("3", "20", "10", "20", "40"),
        ("4", "24", "12", "24", "48"),
        ("6", "32", "16", "32", "64"),
        ("8", "40", "20", "40", "80"),
        ("10", "48", "24", "48", "96"),
        ("12", "56", "28", "56", "112"),
        ("16", "72", "36", "72", "144"),
        ("20", "88", "44", "88", "176"),
    )
)
"""Largest length of the band in inches, and by grade the limit deviation in microinches."""

LONGEST_MM = Decimal(500)
"""No longer block is known here."""

_UM_PER_UIN = Decimal("0.0254")
_CHANGE: Mapping[str, tuple[str, str]] = {
    "K": ("0.02", "0.25"),
    "0": ("0.02", "0.25"),
    "1": ("0.05", "0.5"),
    "2": ("0.05", "0.5"),
    "AS-1": ("0.05", "0.5"),
    "AS-2": ("0.05", "0.5"),
}


def limit_um(grade: str, nominal: Length) -> Decimal:
    """How far a block may lie from `nominal` on either side, in um.

    A band's upper end belongs to it: 10 mm is in the first, 10.0001 mm in the second. Inch blocks
    of grades K and 0, and AS-1 and AS-2 of any unit, go by the inch table. Raises ValueError for an
    unknown grade and for a block longer than 500 mm.
    """
    if grade not in GRADES:
        raise ValueError(f"{grade[:20]!r} is no grade known here ({', '.join(GRADES)})")
    is_inch_table = grade.startswith("AS") or (nominal.unit == "in" and grade in ("K", "0"))
    bands = _ASME if is_inch_table else _ISO
    for most, limits in bands:
        if nominal.mm <= to_mm(most, "in" if is_inch_table else "mm"):
            limit = Decimal(limits[grade])
            return EXACT.multiply(limit, _UM_PER_UIN) if is_inch_table else limit
    raise ValueError(f"{nominal} is longer than the longest block known here, {LONGEST_MM} mm")


def change_um_per_year(grade: str, nominal: Length) -> Decimal:
    """How far the length of a block may change in a year, either way, in um.

    Source: ISO 3650 6.2.4 (from memory; the values read in a military calibration bulletin, which
    gives the same to grade 0 and to AS-1 and AS-2). Raises ValueError for an unknown grade.
    """
    if grade not in _CHANGE:
        raise ValueError(f"{grade[:20]!r} is no grade known here ({', '.join(GRADES)})")
    base, per_metre = map(Decimal, _CHANGE[grade])
    # 0.25e-6 of a length in mm is 0.25e-3 um for each mm
    return EXACT.add(base, EXACT.multiply(EXACT.multiply(per_metre, nominal.mm), Decimal("0.001")))
