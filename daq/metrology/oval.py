"""One oval through the diameters of several stations at once. Pure floats.

Model: y = m_row + a cos 2t + b sin 2t, ordinary least squares, a mean of its own for each row (a
station) and one oval for all. Source of the model: `daq.metrology.ellipse`; of its uncertainties:
the covariance of a least-squares estimate, u**2 (X'X)^-1 (NIST/SEMATECH e-Handbook 4.4.3).
"""

import math
from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache

import msgspec

MOST_STRETCH = 1.7
"""2 sqrt(lambda) of a design that sees ovals well enough for a fitted one to be believed. Chosen by
us: four even angles give 1.41 and 0/60/120 gives 1.63; 0/45/90 and narrower ones give more."""

_SINGULAR = 1e-9
_GRAIN = 10**12
"""Fitted values are taken on steps of 10**-12 mm: what is left of binary noise decides nothing."""


class OvalDesign(msgspec.Struct, frozen=True):
    """At which angles (degrees) each row of places lies, and what that lets a fit see.

    `cosines`, `sines`: of the doubled angles, less their row's mean; `mean_of_rows`: those means,
    (cos, sin) a row; `counts`: places a row; `inverse`: (caa, cab, cbb) of (X'X)^-1 for a and b.
    """

    rows: tuple[int, ...]
    cosines: tuple[float, ...]
    sines: tuple[float, ...]
    mean_of_rows: tuple[tuple[float, float], ...]
    counts: tuple[int, ...]
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
        return len(self.rows) - len(self.counts) - 2

    def between(self, one: int, other: int) -> float:
        """The standard uncertainty of the difference of two rows' means, for one of 1 a place."""
        caa, cab, cbb = self.inverse
        (c1, s1), (c2, s2) = self.mean_of_rows[one], self.mean_of_rows[other]
        c, s = c1 - c2, s1 - s2
        shared = c * c * caa + 2 * c * s * cab + s * s * cbb
        return math.sqrt(1 / self.counts[one] + 1 / self.counts[other] + shared)


class OvalFit(msgspec.Struct, frozen=True):
    """A fitted oval: `a_mm`, `b_mm`; the rows' means in mm above the first diameter; the sum of the
    squared residuals in square mm.
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
        return math.degrees(math.atan2(self.b_mm, self.a_mm)) / 2 % 180


@lru_cache(maxsize=1024)
def design(rows: tuple[int, ...], angles_deg: tuple[int, ...]) -> OvalDesign | None:
    """The design of places at `angles_deg`, each in its row (0, 1, ...); None where they leave an
    oval open.
    """
    count = max(rows) + 1
    doubled = [math.radians(2 * angle) for angle in angles_deg]
    counts = tuple(rows.count(row) for row in range(count))
    means = tuple(
        (
            math.fsum(math.cos(t) for t, r in zip(doubled, rows, strict=True) if r == row) / n,
            math.fsum(math.sin(t) for t, r in zip(doubled, rows, strict=True) if r == row) / n,
        )
        for row, n in enumerate(counts)
    )
    c = tuple(math.cos(t) - means[row][0] for t, row in zip(doubled, rows, strict=True))
    s = tuple(math.sin(t) - means[row][1] for t, row in zip(doubled, rows, strict=True))
    cc, ss = math.fsum(x * x for x in c), math.fsum(x * x for x in s)
    cs = math.fsum(x * y for x, y in zip(c, s, strict=True))
    determinant = cc * ss - cs * cs
    if determinant < _SINGULAR:
        return None
    inverse = ss / determinant, -cs / determinant, cc / determinant
    return OvalDesign(rows, c, s, means, counts, inverse)


def fit_oval(found: OvalDesign, sizes_mm: Sequence[Fraction]) -> OvalFit:
    """The least-squares oval through diameters in mm, one for each place of the design."""
    first = sizes_mm[0]
    y = [float(size - first) for size in sizes_mm]
    caa, cab, cbb = found.inverse
    by_c = math.fsum(x * v for x, v in zip(found.cosines, y, strict=True))
    by_s = math.fsum(x * v for x, v in zip(found.sines, y, strict=True))
    a, b = caa * by_c + cab * by_s, cab * by_c + cbb * by_s
    totals = [0.0] * len(found.counts)
    for row, value in zip(found.rows, y, strict=True):
        totals[row] += value
    averages = [total / n for total, n in zip(totals, found.counts, strict=True)]
    rss = math.fsum(
        (v - averages[row] - a * c - b * s) ** 2
        for row, v, c, s in zip(found.rows, y, found.cosines, found.sines, strict=True)
    )
    means = tuple(
        average - a * c - b * s
        for average, (c, s) in zip(averages, found.mean_of_rows, strict=True)
    )
    return OvalFit(a, b, means, rss)


def on_grain(mm: float) -> Fraction:
    """A fitted length as a fraction of mm, on steps of 10**-12."""
    return Fraction(round(mm * _GRAIN), _GRAIN)


__all__ = ["MOST_STRETCH", "OvalDesign", "OvalFit", "design", "fit_oval", "on_grain"]
