"""Two-point form of one journal: out-of-round, taper, the fitted ellipse. Pure.

Definitions: out-of-round is the largest, over stations, of (max - min over angles); taper is the
largest, over angles, of (max - min over stations) at the same angle (workshop practice: readings a
quarter turn apart for out-of-round, front against rear for taper). Both are two-point values of a
diameter: twice the radial deviation of an even number of lobes, and nothing at all of an odd
number, so neither is called roundness. Lengths are exact; the ellipse and shares are floats.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import combinations
from typing import TypeAlias

import msgspec

from daq.lengths import EXACT, Length, Position, mean_text, plain
from daq.metrology.ellipse import Ellipse, fit, residual_mm, share_seen

FINEST_MM = Decimal("0.0000001")
"""A taper limit for a length is rounded down to this: it never widens."""

Size: TypeAlias = Decimal | Fraction
"""A diameter in mm: a reading, or the mean of the repeats at a place."""


class Form(msgspec.Struct, frozen=True):
    """One two-point form value in mm, where it was found, and how it prints."""

    value: Fraction
    at: str
    text: str


class FormFound(msgspec.Struct, frozen=True):
    """The form of one journal; None and empty where there are too few places.

    `taper` is that of the definition. `tapers` are judged, each with its limit in mm: `taper`, or
    where the limit is one per length every pair of stations at every angle; `steepest` is the one
    that is the largest share of what its distance allows. `ovality_seen`: least share of an
    ellipse, whatever its direction, that the angles see, 0 to 1. `ellipse_mm`, `ellipse_deg`: max -
    min and direction of the largest diameter of the second harmonic at the station where it is
    largest; `ellipse_residual_mm`: standard deviation of the diameters there about it.
    """

    out_of_round: Form | None
    taper: Form | None
    steepest: tuple[Form, Decimal] | None
    tapers: tuple[tuple[Form, Decimal], ...]
    angles: tuple[int, ...]
    remarks: tuple[str, ...]
    ovality_seen: float | None = None
    ellipse_mm: float | None = None
    ellipse_deg: float | None = None
    ellipse_residual_mm: float | None = None


class TaperLimit(msgspec.Struct, frozen=True):
    """How much taper is allowed: on the journal as a whole, or `per` a length along it; then
    `at_mm` says where each station lies, in the order of the stations.
    """

    limit: Length
    per: Length | None = None
    at_mm: Mapping[str, Decimal] = {}


def form_of(
    taken: Sequence[tuple[Position, Decimal]], repeats: int, allowed: TaperLimit | None
) -> FormFound:
    """The form of a journal by its (position, mm) readings in route order, of which the plan has
    `repeats` a place.

    Repeats at a place are averaged first. A station with one angle, or an angle with one station,
    takes no part. Ties go to the first in route order.
    """
    by_station: dict[str, dict[int, Size]] = {}
    by_angle: dict[int, dict[str, Size]] = {}
    if repeats > 1:
        for (station, angle), size in _means(taken).items():
            by_station.setdefault(station, {})[angle] = size
            by_angle.setdefault(angle, {})[station] = size
    else:  # the same, without a copy: this runs after each of thousands of readings
        for position, mm in taken:
            station, angle = position.station, position.angle_deg
            row = by_station.get(station)
            if row is None:
                row = by_station[station] = {}
            row[angle] = mm
            column = by_angle.get(angle)
            if column is None:
                column = by_angle[angle] = {}
            column[station] = mm
    angles = tuple(sorted(by_angle))
    taper = _widest(by_angle)
    tapers = _tapers(by_angle, allowed, taper)
    steepest = max(tapers, key=_share, default=None)
    seen = [share_seen(tuple(row)) for row in by_station.values() if len(row) > 1]
    ellipse, residual = _ellipse(by_station)
    return FormFound(
        out_of_round=_widest(by_station),
        taper=taper,
        steepest=steepest,
        tapers=tapers,
        angles=angles,
        remarks=tuple(_remarks(len(angles), len(by_station))),
        ovality_seen=min(seen, default=None),
        ellipse_mm=ellipse.ovality_mm if ellipse else None,
        ellipse_deg=ellipse.direction_deg if ellipse else None,
        ellipse_residual_mm=residual,
    )


def _means(taken: Sequence[tuple[Position, Decimal]]) -> dict[tuple[str, int], Size]:
    repeats: dict[tuple[str, int], list[Decimal]] = {}
    for position, mm in taken:
        repeats.setdefault((position.station, position.angle_deg), []).append(mm)
    return {
        place: sizes[0] if len(sizes) == 1 else Fraction(_sum(sizes)) / len(sizes)
        for place, sizes in repeats.items()
    }


def _sum(sizes: Sequence[Decimal]) -> Decimal:
    total = Decimal(0)
    for size in sizes:
        total = EXACT.add(total, size)
    return total


def _widest(
    rows: Mapping[str, Mapping[int, Size]] | Mapping[int, Mapping[str, Size]],
) -> Form | None:
    """The largest max - min of a row, and which row it is."""
    widest: tuple[Size, str] | None = None
    for at, row in rows.items():
        if len(row) < 2:
            continue
        value = _difference(max(row.values()), min(row.values()))
        if widest is None or value > widest[0]:
            widest = value, str(at)
    return _form(*widest) if widest else None


def _difference(larger: Size, smaller: Size) -> Size:
    if isinstance(larger, Decimal) and isinstance(smaller, Decimal):
        return EXACT.subtract(larger, smaller)
    return Fraction(larger) - Fraction(smaller)


def _form(value: Size, at: str) -> Form:
    """Differences of single readings keep the readings' digits; those of means are rounded."""
    text = plain(value) if isinstance(value, Decimal) else mean_text(value)
    return Form(Fraction(value), at, text)


def _tapers(
    by_angle: Mapping[int, Mapping[str, Size]], allowed: TaperLimit | None, taper: Form | None
) -> tuple[tuple[Form, Decimal], ...]:
    """The tapers to judge, each with its limit in mm: the one of the definition, or for a limit per
    length every pair of stations at every angle, since each distance has a limit of its own.
    """
    if allowed is None or taper is None:
        return ()
    if allowed.per is None:
        return ((taper, allowed.limit.mm),)
    at_mm, per = allowed.at_mm, allowed.per
    limits = {
        (one, other): for_length(
            allowed.limit, per, EXACT.subtract(at_mm[one], at_mm[other]).copy_abs()
        )
        for one, other in combinations(at_mm, 2)
    }
    found = []
    for angle, row in by_angle.items():
        for one, other in combinations(row, 2):
            larger, smaller = (one, other) if row[one] >= row[other] else (other, one)
            at = f"{angle} between {one} and {other}"
            pair = (one, other) if (one, other) in limits else (other, one)
            found.append((_form(_difference(row[larger], row[smaller]), at), limits[pair]))
    return tuple(found)


def _share(pair: tuple[Form, Decimal]) -> Fraction:
    """Of what is allowed; a taper that may not be at all counts for most."""
    form, limit_mm = pair
    return form.value / Fraction(limit_mm) if limit_mm else form.value * 10**12


def for_length(limit: Length, per: Length, apart_mm: Decimal) -> Decimal:
    """A limit stated per length, for another one, rounded down; in mm."""
    exact = Fraction(limit.mm) * Fraction(apart_mm) / Fraction(per.mm)
    steps = exact / Fraction(FINEST_MM)
    return EXACT.multiply(Decimal(steps.numerator // steps.denominator), FINEST_MM)


def _ellipse(by_station: Mapping[str, Mapping[int, Size]]) -> tuple[Ellipse | None, float | None]:
    """The ellipse of the station where it is largest, and its residual."""
    largest: tuple[Ellipse, Mapping[int, Size]] | None = None
    for row in by_station.values():
        found = fit(tuple(row), row.values())
        if found is not None and (largest is None or found.ovality_mm > largest[0].ovality_mm):
            largest = found, row
    if largest is None:
        return None, None
    ellipse, row = largest
    return ellipse, residual_mm(tuple(row), row.values(), ellipse)


def _remarks(angles: int, stations: int) -> list[str]:
    remarks = []
    if angles == 1:
        remarks.append("one angle only: out-of-round was not measured")
    elif angles == 2:
        remarks.append("two angles only: they can miss all of the ovality")
    if angles and stations < 2:
        remarks.append("fewer than two stations: taper was not measured")
    return remarks


__all__ = ["FINEST_MM", "Form", "FormFound", "TaperLimit", "for_length", "form_of"]
