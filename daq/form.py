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
from itertools import pairwise
from typing import TypeAlias

import msgspec

from daq.ellipse import Ellipse, fit, residual_mm, share_seen
from daq.plan import JournalPlan
from daq.terms import EXACT, Length, Position, mean_text, plain

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

    `taper` is that of the definition. `steepest` is what is judged, with its limit in mm: `taper`,
    or where the limit is one per length the pair of stations whose difference is the largest share
    of what their distance allows. `ovality_seen`: least share of an ellipse, whatever its
    direction, that the angles see, 0 to 1. `ellipse_mm`, `ellipse_deg`: max - min and direction of
    the largest diameter of the second harmonic at the station where it is largest;
    `ellipse_residual_mm`: standard deviation of the diameters there about it.
    """

    out_of_round: Form | None
    taper: Form | None
    steepest: tuple[Form, Decimal] | None
    angles: tuple[int, ...]
    remarks: tuple[str, ...]
    ovality_seen: float | None = None
    ellipse_mm: float | None = None
    ellipse_deg: float | None = None
    ellipse_residual_mm: float | None = None


def form_of(taken: Sequence[tuple[Position, Decimal]], journal: JournalPlan) -> FormFound:
    """The form of a journal by its (position, mm) readings in route order.

    Repeats at a place are averaged first. A station with one angle, or an angle with one station,
    takes no part. Ties go to the first in route order.
    """
    places = (
        _means(taken)
        if journal.repeats > 1
        else {(position.station, position.angle_deg): mm for position, mm in taken}
    )
    by_station: dict[str, dict[int, Size]] = {}
    by_angle: dict[int, dict[str, Size]] = {}
    for (station, angle), size in places.items():
        by_station.setdefault(station, {})[angle] = size
        by_angle.setdefault(angle, {})[station] = size
    angles = tuple(sorted(by_angle))
    taper = _widest(by_angle)
    steepest = _steepest(by_angle, journal, taper)
    seen = [share_seen(tuple(row)) for row in by_station.values() if len(row) > 1]
    ellipse, residual = _ellipse(by_station)
    return FormFound(
        out_of_round=_widest(by_station),
        taper=taper,
        steepest=steepest,
        angles=angles,
        remarks=(*_remarks(len(angles), len(by_station)), *_steep(steepest, journal)),
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


def _steepest(
    by_angle: Mapping[int, Mapping[str, Size]], journal: JournalPlan, taper: Form | None
) -> tuple[Form, Decimal] | None:
    """The taper to judge and its limit in mm, which for a limit per length is that for the distance
    between the two stations. Of all pairs two neighbours are the steepest: no mean of several
    slopes is over the largest of them.
    """
    limit, per = journal.limits.taper, journal.limits.taper_per
    if limit is None or taper is None:
        return None
    if per is None:
        return taper, limit.mm
    at_mm = {s: where.mm for s, where in zip(journal.stations, journal.station_at, strict=True)}
    worst: tuple[Fraction, Form, Decimal] | None = None
    for angle, row in by_angle.items():
        for one, other in pairwise(sorted(row, key=at_mm.__getitem__)):
            larger, smaller = (one, other) if row[one] >= row[other] else (other, one)
            form = _form(
                _difference(row[larger], row[smaller]), f"{angle} between {one} and {other}"
            )
            apart = EXACT.subtract(at_mm[one], at_mm[other]).copy_abs()
            steep = form.value / Fraction(apart)
            if worst is None or steep > worst[0]:
                worst = steep, form, _for_length(limit, per, apart)
    return (worst[1], worst[2]) if worst else None


def _steep(steepest: tuple[Form, Decimal] | None, journal: JournalPlan) -> list[str]:
    """What a limit per length was judged by, which is not the taper of the table."""
    if steepest is None or journal.limits.taper_per is None:
        return []
    form, limit_mm = steepest
    return [f"steepest taper {form.text} mm at {form.at}, {plain(limit_mm)} mm allowed there"]


def _for_length(limit: Length, per: Length, apart_mm: Decimal) -> Decimal:
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


__all__ = ["FINEST_MM", "Form", "FormFound", "form_of"]
