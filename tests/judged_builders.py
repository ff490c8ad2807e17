"""Journals and readings made by hand for the evaluation, without a session around them."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from daq.evaluation.earlier.journals import Certainty, evaluate
from daq.lengths import Length, Limits, Position, parse_length, plain
from daq.plan.plan import JournalPlan
from daq.record.events import Sent
from daq.record.results import JournalResult
from daq.record.standing import JournalReadings, PartReading

Table = Mapping[str, Mapping[int, str]]
"""Diameters in mm by station and angle; several repeats are separated by blanks, "-" or nothing is
not measured. The grid of all stations, angles and repeats is planned."""


def limits(
    low: str = "59.970 mm",
    high: str | None = "59.990 mm",
    out_of_round: str | None = None,
    taper: str | None = None,
) -> Limits:
    """Limits from texts; the standard ones are those of a journal of 60 mm."""
    return Limits(
        parse_length(low),
        None if high is None else parse_length(high),
        None if out_of_round is None else parse_length(out_of_round),
        None if taper is None else parse_length(taper),
    )


def journal_plan(
    limits: Limits,
    stations: Sequence[str] = ("front", "rear"),
    angles_deg: Sequence[int] = (0, 90),
    repeats: int = 1,
    station_at: Sequence[str] = (),
    name: str = "M1",
) -> JournalPlan:
    """A journal of the group "mains"."""
    return JournalPlan(
        key="journal[1]",
        name=name,
        group="mains",
        limits=limits,
        stations=tuple(stations),
        angles_deg=tuple(angles_deg),
        repeats=repeats,
        window=Length(Decimal("0.5"), "mm"),
        group_stack=None,
        group_key="",
        is_after_strip=False,
        station_at=tuple(map(parse_length, station_at)),
    )


def journal_readings(
    journal: JournalPlan, sizes_mm: Mapping[Position, Decimal]
) -> JournalReadings | None:
    """Standing readings, one a second in route order, all of one stint; None if there are none."""
    taken = tuple(
        PartReading(
            seq=number,
            at_us=number * 1_000_000,
            run=0,
            stint=1,
            position=position,
            sent=Sent(plain(mm), "mm", "0.001", None, (), ""),
            mm=mm,
            at_20c_mm=mm,
        )
        for number, (position, mm) in enumerate(sizes_mm.items(), 1)
    )
    return JournalReadings.of(journal, taken) if taken else None


def guarded(mm: str, form_mm: str = "0") -> Certainty:
    """Known so well that a size is judged with this guard, and a form value with `form_mm`."""
    u = float(mm) / 2
    return Certainty("guarded", Decimal(mm), Decimal(form_mm), u, {(1, 0): (u, 0.0)})


EXACTLY = guarded("0")
"""Known exactly: the guarded rule with nothing to guard."""


def judged(
    table: Table,
    limits: Limits,
    proof: Certainty = EXACTLY,
    step: str | None = "0.001",
    station_at: Sequence[str] = (),
) -> JournalResult:
    """A table judged; the route goes by the table's own order of stations and angles."""
    angles = tuple(dict.fromkeys(angle for row in table.values() for angle in row))
    repeats = max(len(texts.split()) for row in table.values() for texts in row.values())
    journal = journal_plan(limits, tuple(table), angles, repeats, station_at)
    sizes_mm = {
        Position("M1", station, angle, repeat): Decimal(text)
        for station, row in table.items()
        for angle in angles
        for repeat, text in enumerate(row.get(angle, "-").split(), 1)
        if text != "-"
    }
    return evaluate(
        journal,
        journal_readings(journal, sizes_mm),
        proof,
        None if step is None else Decimal(step),
    )
