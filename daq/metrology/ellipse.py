"""The second harmonic of a journal: what an oval shaft shows between two anvils. Pure floats.

An ellipse of small ovality has the diameter D0 + a cos 2t + b sin 2t at the angle t. Source: the
profile r = R + c cos n(t - f) read across (derived): D = 2R + 2c cos n(t - f) for even n, constant
for odd n.
"""

import math
from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from operator import mul

import msgspec

LEAST_ANGLES = 4
"""Three unknowns need one angle more, or the fit shows nothing of how well it fits."""

_SINGULAR = 1e-9


@lru_cache(maxsize=1024)
def share_seen(angles_deg: tuple[int, ...]) -> float:
    """The least share of the ovality of an ellipse, whatever its direction, that max - min over
    these angles sees: 0 to 1.

    Angles doubled are points on a circle; what is seen is the width of their hull across the
    ellipse's direction, least across one of its edges (derived; two angles 90 degrees apart: 0,
    four 45 degrees apart: 0.7071).
    """
    points = sorted({2 * angle % 360 for angle in angles_deg})
    if len(points) < 3:
        return 0.0
    at = [(math.cos(math.radians(p)), math.sin(math.radians(p))) for p in points]
    least = 2.0
    for index, (x, y) in enumerate(at):
        to_x, to_y = at[(index + 1) % len(at)]
        across_x, across_y = to_y - y, x - to_x
        length = math.hypot(across_x, across_y)
        away = [((px - x) * across_x + (py - y) * across_y) / length for px, py in at]
        least = min(least, max(away) - min(away))
    return least / 2


class Ellipse(msgspec.Struct, frozen=True):
    """A fitted second harmonic. `ovality_mm`: its max - min; `direction_deg`: of its largest
    diameter, from 0 to under 180.
    """

    ovality_mm: float
    direction_deg: float


def fit(angles_deg: tuple[int, ...], sizes_mm: Iterable[Decimal | Fraction]) -> Ellipse | None:
    """The least-squares ellipse through diameters, one per angle; None for fewer than four angles,
    or angles that leave it open.

    The weights of a and of b sum to zero, so the diameter itself drops out; what binary numbers
    lose of it is under 1e-13 mm.
    """
    weights = _weights(angles_deg)
    if weights is None:
        return None
    sizes = list(map(float, sizes_mm))
    a, b = sum(map(mul, weights[0], sizes)), sum(map(mul, weights[1], sizes))
    return Ellipse(2 * math.hypot(a, b), math.degrees(math.atan2(b, a)) / 2 % 180)


def residual_mm(
    angles_deg: tuple[int, ...], sizes_mm: Iterable[Decimal | Fraction], ellipse: Ellipse
) -> float:
    """Standard deviation of the diameters about their fitted ellipse, n - 3 degrees of freedom.

    Large beside the ovality, the journal is not an ellipse (four lobes, a flat, dirt).
    """
    half = ellipse.ovality_mm / 2
    left = [
        float(size) - half * math.cos(math.radians(2 * (angle - ellipse.direction_deg)))
        for angle, size in zip(angles_deg, sizes_mm, strict=True)
    ]
    mean = math.fsum(left) / len(left)
    return math.sqrt(math.fsum((value - mean) ** 2 for value in left) / (len(left) - 3))


@lru_cache(maxsize=1024)
def _weights(angles_deg: tuple[int, ...]) -> tuple[tuple[float, ...], tuple[float, ...]] | None:
    """By what each diameter counts for a and for b: the pseudo-inverse of the design matrix."""
    if len(set(angles_deg)) < LEAST_ANGLES:
        return None
    doubled = [math.radians(2 * angle) for angle in angles_deg]
    cosines, sines = [math.cos(t) for t in doubled], [math.sin(t) for t in doubled]
    n = len(doubled)
    mean_c, mean_s = math.fsum(cosines) / n, math.fsum(sines) / n
    c, s = [x - mean_c for x in cosines], [x - mean_s for x in sines]
    cc, ss = math.fsum(x * x for x in c), math.fsum(x * x for x in s)
    cs = math.fsum(x * y for x, y in zip(c, s, strict=True))
    determinant = cc * ss - cs * cs
    if determinant < _SINGULAR:
        return None
    return (
        tuple((ss * x - cs * y) / determinant for x, y in zip(c, s, strict=True)),
        tuple((cc * y - cs * x) / determinant for x, y in zip(c, s, strict=True)),
    )


def same_direction(directions_deg: Sequence[float], within_deg: float) -> float | None:
    """The mean of directions (180 degrees on is the same one) if all lie within `within_deg` of
    it, else None.
    """
    x = math.fsum(math.cos(math.radians(2 * d)) for d in directions_deg)
    y = math.fsum(math.sin(math.radians(2 * d)) for d in directions_deg)
    if math.hypot(x, y) < _SINGULAR:
        return None
    mean = math.degrees(math.atan2(y, x)) / 2 % 180
    away = [abs((d - mean + 90) % 180 - 90) for d in directions_deg]
    return mean if max(away) <= within_deg else None
