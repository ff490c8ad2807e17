"""How large a text may be drawn so that it fits a width: as a class of the style sheet. Pure."""

import unicodedata
from functools import lru_cache

from daq.pictures.layout import CrankLayout

FITS = (*range(20, 100, 5), *range(100, 200, 10), *range(200, 401, 25))
"""How wide a text is in tenths of its height: a class each, `e` and the number."""

_NARROW, _WIDE = frozenset("iljtfrI.,:;'|!()[]/°"), frozenset("mwMW@%—")


def fit(*texts: str) -> int:
    """The least of FITS that none of these is wider than; the last where there is none."""
    widest: float = max(em_tenths(text) for text in texts)
    found: int = next((wide for wide in FITS if widest <= wide), FITS[-1])
    return found


def em_tenths(text: str) -> float:
    """How wide a text is in a usual bold sans-serif, in tenths of its height: a little more, as
    fonts differ. Chosen by us, by the widths of four that systems bring along.
    """
    total = 0.0
    for char in text:
        if char in _NARROW:
            total += 4.1
        elif char == " ":
            total += 2.9
        elif unicodedata.east_asian_width(char) in "WF":
            total += 10.5
        elif char in _WIDE:
            total += 9.6
        elif char.isupper():
            total += 7.6
        else:
            total += 6.2
    return total


@lru_cache(maxsize=4)
def widest_place(layout: CrankLayout | None) -> str:
    """Of all places of a run, so that all are written in one size."""
    places = (
        f"{journal.name} {station} {angle}°"
        for journal in (layout.journals if layout is not None else ())
        for station in journal.stations
        for angle in journal.angles_deg
    )
    return max(places, key=em_tenths, default="")
