"""Conditions and places made by hand for the evaluation by rule set 3, without a session."""

import math
from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.disposition.case import Measured, measured
from daq.evaluation.conditions import (
    USUAL_PITCH_MM,
    Checks,
    Conditions,
    HistoryDrift,
)
from daq.evaluation.journals import Judged, evaluate
from daq.evaluation.places import Place
from daq.lengths import Limits, Position
from daq.metrology.expansion import MATERIALS
from daq.metrology.statistics.samples import exact_mean
from daq.metrology.uncertainty.mean import Scatter
from daq.plan.plan import DecisionPlan, JournalPlan
from daq.record.environment import Reference
from tests.judged_builders import Table, journal_plan

UM = Fraction(1, 1000)


def scatter(sd_um: str, dof: float = 8.0) -> Scatter:
    """A scatter from its standard deviation in um."""
    return Scatter((Fraction(sd_um) * UM) ** 2, dof, "by hand")


def checks(
    before_um: str = "0", after_um: str | None = "0", readings: int = 5, max_drift: str = "0.002"
) -> Checks:
    """Checks by their mean errors in um; no closing one where `after_um` is None."""
    means = [Fraction(text) * UM for text in (before_um, after_um) if text is not None]
    return Checks(
        error_mm=exact_mean(means),
        moved_mm=abs(means[1] - means[0]) if len(means) == 2 else None,
        readings=readings,
        max_drift_mm=Decimal(max_drift),
        stint_means_mm=tuple(means),
    )


def conditions(
    *,
    around: Checks | None = None,
    s: Scatter | None = None,
    on_stack: Scatter | None = None,
    step: str = "0.001",
    stack: str = "59.970",
    stack_u_um: float = 0.0,
    low: str = "59.970",
    permitted: str | None = None,
    history: HistoryDrift | None = None,
    part_c: str | None = "20",
    stack_c: str | None = "20",
    limits_k: str = "0",
    stint: int = 1,
) -> Conditions:
    """Conditions in which nothing is uncertain but what is given. `on_stack`: where it differs from
    `s`, the scatter on the part.
    """
    exact = msgspec.structs.replace(MATERIALS["steel"], half_width=Decimal(0))
    on_part = s or scatter("0", math.inf)
    return Conditions(
        stint=stint,
        checks=around or checks(),
        drift=history,
        on_part=on_part,
        on_stack=on_stack or on_part,
        is_one=on_stack is None,
        step_mm=Decimal(step),
        stack_mm=Decimal(stack),
        stack_u_mm=stack_u_um / 1000,
        stack_note="by hand",
        joints=0,
        wringing_u_mm=0.0,
        permitted_error_mm=None if permitted is None else Decimal(permitted),
        pitch_mm=USUAL_PITCH_MM,
        ratio=Fraction(1),
        size_mm=Decimal(low),
        part_c=None if part_c is None else Decimal(part_c),
        part=exact,
        reference=Reference("stack", None if stack_c is None else Decimal(stack_c), exact),
        thermometer_limit_k=Decimal(limits_k),
        room_limit_k=Decimal(limits_k),
        difference_limit_k=Decimal(limits_k),
    )


EXACT_BUT_FOR_THE_STEP = conditions()
"""Nothing is uncertain but what a step of 0.001 mm hides: u of a place, and of the check."""


def places_in(
    table: Table, about: Conditions | Mapping[str, Conditions] = EXACT_BUT_FOR_THE_STEP
) -> tuple[Place, ...]:
    """The places of a table of readings in mm, in its own order; `about` for all or by station."""
    found = []
    for station, row in table.items():
        of_row = about if isinstance(about, Conditions) else about[station]
        for angle, texts in row.items():
            read = [Decimal(text) for text in texts.split() if text != "-"]
            if read:
                found.append(Place(0, station, angle, len(read), sum(read, Decimal(0)), of_row))
    return tuple(found)


def judged_by_3(
    table: Table,
    limits: Limits,
    about: Conditions | Mapping[str, Conditions] = EXACT_BUT_FOR_THE_STEP,
    decision: DecisionPlan = DecisionPlan(),  # noqa: B008 - frozen
    *,
    is_ground: bool = False,
    station_at: Sequence[str] = (),
) -> Judged:
    """A table judged; the grid of all its stations, angles and repeats is planned."""
    angles = tuple(dict.fromkeys(angle for row in table.values() for angle in row))
    repeats = max(len(texts.split()) for row in table.values() for texts in row.values())
    plan = journal_plan(limits, tuple(table), angles, repeats, station_at)
    found = places_in(table, about)
    return evaluate(
        msgspec.structs.replace(plan, is_ground=is_ground),
        found,
        decision,
        sum(place.count for place in found),
    )


def judged_simply(
    journal: JournalPlan, sizes_mm: Mapping[Position, Decimal], step: str = "0.001"
) -> Judged:
    """A journal of a plan by what was read at its places, the limits themselves deciding."""
    table: dict[str, dict[int, str]] = {}
    for at, mm in sizes_mm.items():
        row = table.setdefault(at.station, {})
        row[at.angle_deg] = f"{row.get(at.angle_deg, '')} {mm}"
    found = places_in(table, conditions(step=step))
    return evaluate(journal, found, DecisionPlan(rule="simple"), len(sizes_mm))


def measured_exactly(found: Judged) -> Measured:
    """What the next step is found by: the result with its sizes unrounded."""
    taken = measured(found.result)
    if found.size is None:
        return taken
    smallest, largest = found.size.smallest.place.y_mm, found.size.largest.place.y_mm
    return msgspec.structs.replace(taken, smallest_exact_mm=smallest, largest_exact_mm=largest)
