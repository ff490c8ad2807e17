"""Journals against their limits: sizes, two-point form, verdict. Pure; the live view and the tables
call the same function.

Definitions: out-of-round is the largest, over stations, of (max - min over angles); taper is the
largest, over angles, of (max - min over stations) at the same angle (workshop practice: readings a
quarter turn apart for out-of-round, front against rear for taper). Both are two-point values: a
micrometer is blind to odd lobes, so neither is called roundness.
"""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.terms import EXACT, Length, Limits, Position, mean_text, plain

FORM_STEPS = 4
"""A form limit under so many resolution steps of the gauge cannot be judged with it."""


class JournalResult(msgspec.Struct, frozen=True, kw_only=True):
    """One journal's numbers and verdict, as stored: lengths are exact decimal text in mm, empty
    where not known. The fields are those of the table of journals.
    """

    journal: str
    group: str
    positions_planned: int
    positions_measured: int
    smallest_mm: str = ""
    smallest_at: str = ""
    largest_mm: str = ""
    largest_at: str = ""
    out_of_round_mm: str = ""
    out_of_round_at: str = ""
    taper_mm: str = ""
    taper_at: str = ""
    low_limit_mm: str
    high_limit_mm: str = ""
    margin_to_low_mm: str = ""
    uncertainty_mm: str = ""
    verdict: str
    out_of_round_limit_mm: str = ""
    taper_limit_mm: str = ""
    size_verdict: str
    form_verdict: str
    decision_rule: str
    angles_used: str = ""
    remarks: str = ""


class Form(msgspec.Struct, frozen=True):
    """One two-point form value in mm, where it was found, and how it prints."""

    value: Fraction
    at: str
    text: str


def evaluate(
    journal: str,
    group: str,
    limits: Limits,
    planned: Sequence[Position],
    diameters: Mapping[Position, Decimal],
    guard_mm: Decimal,
    resolution_mm: Decimal | None,
) -> JournalResult:
    """Judge one journal.

    `planned`: its positions in route order. `diameters`: mm, one per standing reading. `guard_mm`:
    how near a limit is too near to call. `resolution_mm`: the coarsest among its readings.
    """
    taken = [(position, diameters[position]) for position in planned if position in diameters]
    smallest = min(taken, key=lambda item: item[1], default=None)
    largest = max(taken, key=lambda item: item[1], default=None)
    out_of_round, taper = form_of(taken)
    is_complete = len(taken) == len(planned)
    size = _size_verdict(limits, smallest and smallest[1], largest and largest[1], guard_mm)
    if size in ("within", "undecided") and not is_complete:
        size = "incomplete"
    form = _form_verdict(
        ((limits.out_of_round, out_of_round), (limits.taper, taper)), resolution_mm
    )
    return JournalResult(
        journal=journal,
        group=group,
        positions_planned=len(planned),
        positions_measured=len(taken),
        smallest_mm=plain(smallest[1]) if smallest else "",
        smallest_at=smallest[0].place if smallest else "",
        largest_mm=plain(largest[1]) if largest else "",
        largest_at=largest[0].place if largest else "",
        out_of_round_mm=out_of_round.text if out_of_round else "",
        out_of_round_at=out_of_round.at if out_of_round else "",
        taper_mm=taper.text if taper else "",
        taper_at=taper.at if taper else "",
        low_limit_mm=plain(limits.low.mm),
        high_limit_mm=plain(limits.high.mm) if limits.high else "",
        margin_to_low_mm=plain(EXACT.subtract(smallest[1], limits.low.mm)) if smallest else "",
        verdict=_verdict(size, form, is_complete),
        out_of_round_limit_mm=plain(limits.out_of_round.mm) if limits.out_of_round else "",
        taper_limit_mm=plain(limits.taper.mm) if limits.taper else "",
        size_verdict=size,
        form_verdict=form,
        decision_rule="guard=max_error",
        angles_used=";".join(str(angle) for angle in _angles(p for p, _ in taken)),
        remarks="; ".join(_remarks([p for p, _ in taken])),
    )


def _size_verdict(
    limits: Limits, smallest: Decimal | None, largest: Decimal | None, guard: Decimal
) -> str:
    if smallest is None or largest is None:
        return "incomplete"
    low, high = limits.low.mm, limits.high.mm if limits.high else None
    if smallest < EXACT.subtract(low, guard):
        return "below"
    if high is not None and largest > EXACT.add(high, guard):
        return "above"
    if smallest < EXACT.add(low, guard):
        return "undecided"
    if high is not None and largest > EXACT.subtract(high, guard):
        return "undecided"
    return "within"


def _form_verdict(
    pairs: Sequence[tuple[Length | None, Form | None]], resolution_mm: Decimal | None
) -> str:
    found = []
    for limit, form in pairs:
        if limit is None:
            continue
        if form is None:
            found.append("not-enough-positions")
        elif resolution_mm is not None and limit.mm < EXACT.multiply(
            resolution_mm, Decimal(FORM_STEPS)
        ):
            found.append("undecided")
        else:
            found.append("over" if form.value > Fraction(limit.mm) else "within")
    for answer in ("over", "undecided", "not-enough-positions", "within"):
        if answer in found:
            return answer
    return "no-limit"


def _verdict(size: str, form: str, is_complete: bool) -> str:
    if size in ("below", "above"):
        return size
    if form == "over":
        return "out-of-form"
    if not is_complete:
        return "incomplete"
    if size == "undecided" or form in ("undecided", "not-enough-positions"):
        return "undecided"
    return "within"


def form_of(taken: Sequence[tuple[Position, Decimal]]) -> tuple[Form | None, Form | None]:
    """Two-point out-of-round and taper of one journal's (position, mm) readings in route order.

    Repeats at a place are averaged first. A station with one angle, or an angle with one station,
    takes no part; None where nothing is left. Ties go to the first in route order.
    """
    means: dict[tuple[str, int], list[Decimal]] = {}
    for position, diameter in taken:
        means.setdefault((position.station, position.angle_deg), []).append(diameter)
    # Differences of single readings are exact and keep the readings' digits; means are rounded.
    places = max((_places(diameter) for _, diameter in taken), default=0)
    exact = places if all(len(repeats) == 1 for repeats in means.values()) else None
    by_station: dict[str, list[Fraction]] = {}
    by_angle: dict[int, list[Fraction]] = {}
    for (station, angle), repeats in means.items():
        mean = sum(map(Fraction, repeats), Fraction(0)) / len(repeats)
        by_station.setdefault(station, []).append(mean)
        by_angle.setdefault(angle, []).append(mean)
    return _widest(by_station, exact), _widest(by_angle, exact)


def _widest(
    rows: Mapping[str, list[Fraction]] | Mapping[int, list[Fraction]], places: int | None
) -> Form | None:
    widest: Form | None = None
    for at, values in rows.items():
        if len(values) < 2:
            continue
        value = max(values) - min(values)
        if widest is None or value > widest.value:
            text = mean_text(value) if places is None else _exact_text(value, places)
            widest = Form(value, str(at), text)
    return widest


def _places(value: Decimal) -> int:
    exponent = value.as_tuple().exponent
    assert isinstance(exponent, int)
    return max(0, -exponent)


def _exact_text(value: Fraction, places: int) -> str:
    """A fraction that has at most `places` decimals, with all of them."""
    scaled = value * 10**places
    assert scaled.denominator == 1
    return plain(EXACT.scaleb(Decimal(scaled.numerator), -places))


def _angles(positions: Iterable[Position]) -> list[int]:
    return sorted({position.angle_deg for position in positions})


def _remarks(taken: Sequence[Position]) -> list[str]:
    remarks = []
    angles, stations = len(_angles(taken)), len({position.station for position in taken})
    if angles == 1:
        remarks.append("one angle only: out-of-round was not measured")
    elif angles == 2:
        remarks.append("two angles only: they can miss all of the ovality")
    if taken and stations < 2:
        remarks.append("fewer than two stations: taper was not measured")
    return remarks
