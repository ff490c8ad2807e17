"""One oval through the diameters of several stations at once. Pure floats.

Model: y = m_row + a cos 2t + b sin 2t, ordinary least squares, a mean of its own for each row (a
station) and one oval for all. Source of the model: `daq.metrology.ellipse`; of its uncertainties:
the covariance of a least-squares estimate, u**2 (X'X)^-1 (NIST/SEMATECH e-Handbook 4.4.3).
"""

import math
from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from operator import mul

import msgspec

MOST_STRETCH = 1.7
"""2 sqrt(lambda) of a design that sees ovals well enough for a fitted one to be believed. Chosen by
us: four even angles give 1.41 and 0/60/120 gives 1.63; 0/45/90 and narrower ones give more."""

_SINGULAR = 1e-9
_GRAIN = 10**12
"""Fitted values are taken on steps of 10**-12 mm: what is left of binary noise decides nothing."""


class RowDesign(msgspec.Struct, frozen=True):
    """The doubled angles of one row: cosines and sines less their means, these means, and the sums
    of their squares and products.
    """

    cosines: tuple[float, ...]
    sines: tuple[float, ...]
    mean_c: float
    mean_s: float
    cc: float
    ss: float
    cs: float


class OvalDesign(msgspec.Struct, frozen=True):
    """At which angles each row of places lies, and what that lets a fit see. `inverse`: (caa, cab,
    cbb) of (X'X)^-1 for a and b.
    """

    rows: tuple[RowDesign, ...]
    inverse: tuple[float, float, float]

    @property
    def stretch(self) -> float:
        """The standard uncertainty of the ovality for one of 1 a place: 2 sqrt(lambda), lambda the
        largest eigenvalue of the a, b block of (X'X)^-1.
        """
        caa, cab, cbb = self.inverse
        half, apart = (caa + cbb) / 2, (caa - cbb) / 2
        return 2 * math.sqrt(half + math.hypot(apart, cab))

    @property
    def dof(self) -> int:
        """Places less what is fitted: a mean a row, a and b."""
        return sum(len(row.cosines) - 1 for row in self.rows) - 2

    def between(self, one: int, other: int) -> float:
        """The standard uncertainty of the difference of two rows' means, for one of 1 a place."""
        caa, cab, cbb = self.inverse
        first, second = self.rows[one], self.rows[other]
        c, s = first.mean_c - second.mean_c, first.mean_s - second.mean_s
        shared = c * c * caa + 2 * c * s * cab + s * s * cbb
        return math.sqrt(1 / len(first.cosines) + 1 / len(second.cosines) + shared)


class OvalFit(msgspec.Struct, frozen=True):
    """A fitted oval: `a_mm`, `b_mm`; the rows' means in mm above what the diameters were given
    above; the sum of the squared residuals in square mm.
    """

    a_mm: float
    b_mm: float
    means_mm: tuple[float, ...]
    rss: float

    @property
    def ovality_mm(self) -> Fraction:
        """Its largest diameter less its smallest: 2 sqrt(a**2 + b**2)."""
        return on_grain(2 * math.hypot(self.a_mm, self.b_mm))

    @property
    def direction_deg(self) -> float:
        """Of its largest diameter, from 0 to under 180."""
        degrees = math.degrees(math.atan2(self.b_mm, self.a_mm)) / 2 % 180
        return degrees if degrees < 180 else 0.0  # of a b that is almost nothing under 0


def design(angles_deg: Sequence[tuple[int, ...]]) -> OvalDesign | None:
    """The design of rows of places at these angles in degrees; None where an oval stays open."""
    rows = tuple(_row(angles) for angles in angles_deg)
    cc, ss = math.fsum(row.cc for row in rows), math.fsum(row.ss for row in rows)
    cs = math.fsum(row.cs for row in rows)
    determinant = cc * ss - cs * cs
    if determinant < _SINGULAR:
        return None
    return OvalDesign(rows, (ss / determinant, -cs / determinant, cc / determinant))


@lru_cache(maxsize=1024)
def _row(angles_deg: tuple[int, ...]) -> RowDesign:
    doubled = [math.radians(2 * angle) for angle in angles_deg]
    cosines, sines = [math.cos(t) for t in doubled], [math.sin(t) for t in doubled]
    mean_c, mean_s = math.fsum(cosines) / len(doubled), math.fsum(sines) / len(doubled)
    c, s = tuple(x - mean_c for x in cosines), tuple(x - mean_s for x in sines)
    return RowDesign(
        c,
        s,
        mean_c,
        mean_s,
        math.fsum(x * x for x in c),
        math.fsum(x * x for x in s),
        math.fsum(map(mul, c, s)),
    )


def fit_oval(found: OvalDesign, sizes_mm: Sequence[Sequence[float]]) -> OvalFit:
    """The least-squares oval through diameters, by row, in mm above any one size: so near to it
    that floats hold all their digits.
    """
    caa, cab, cbb = found.inverse
    rows = list(zip(found.rows, sizes_mm, strict=True))
    by_c = math.fsum(math.fsum(map(mul, row.cosines, sizes)) for row, sizes in rows)
    by_s = math.fsum(math.fsum(map(mul, row.sines, sizes)) for row, sizes in rows)
    a, b = caa * by_c + cab * by_s, cab * by_c + cbb * by_s
    averages = [math.fsum(sizes) / len(sizes) for sizes in sizes_mm]
    rss = math.fsum(
        (y - average - a * c - b * s) ** 2
        for (row, sizes), average in zip(rows, averages, strict=True)
        for y, c, s in zip(sizes, row.cosines, row.sines, strict=True)
    )
    means = tuple(
        average - a * row.mean_c - b * row.mean_s
        for average, row in zip(averages, found.rows, strict=True)
    )
    return OvalFit(a, b, means, rss)


def on_grain(mm: float) -> Fraction:
    """A fitted length as a fraction of mm, on steps of 10**-12."""
    return Fraction(round(mm * _GRAIN), _GRAIN)


__all__ = ["MOST_STRETCH", "OvalDesign", "OvalFit", "RowDesign", "design", "fit_oval", "on_grain"]
