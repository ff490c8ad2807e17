"""Under what readings were taken: the checks around them, the stack, the gauge, temperatures; and
what that makes of a reading and of its uncertainty. Pure.

Model: a gauge is off by e on the stack, and by as much on a part of nearly that size, so a place
measures

    y = (R - e) (1 + a_s (T_s - 20)) / (1 + a_p (T_p - 20))

with R the mean of its readings and e the mean of the errors that the checks before and after found
(JCGM 100:2008, 3.2.4: a known systematic effect is corrected). Estimates are fractions of mm and
exact; standard uncertainties are floats in mm.
"""

import math
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.evaluation.temperature_lines import flat, temperature_components
from daq.lengths import plain
from daq.metrology.expansion import Coefficient
from daq.metrology.uncertainty.budget import Budget, combine_one_sided
from daq.metrology.uncertainty.components import Component, rectangular
from daq.metrology.uncertainty.mean import Mean, Scatter, mean_of
from daq.record.environment import Reference

GUARD_STEP_MM = Decimal("0.00001")
"""Guards are rounded up to this before anything is compared with them."""

USUAL_PITCH_MM = Decimal("0.5")
"""Of a micrometer's screw, where the gauge file states none (common practice, no source)."""


class HistoryDrift(msgspec.Struct, frozen=True):
    """The standard deviation of a gauge's drift over a stint, in mm, by its own history."""

    sd_mm: float
    dof: float
    source: str


class Checks(msgspec.Struct, frozen=True):
    """The checks around readings: the last passed one before, and the passed one after if one has
    closed the bracket.

    `error_mm`: mean of their mean errors. `moved_mm`: |after - before|; None while it is open.
    `readings`: of the check with fewer. `stint_means_mm`: mean errors of all passed checks of the
    stint.
    """

    error_mm: Fraction
    moved_mm: Fraction | None
    readings: int
    max_drift_mm: Decimal
    stint_means_mm: tuple[Fraction, ...]


class Conditions(msgspec.Struct, frozen=True):
    """All that the readings of one journal between the same checks share; see the fields of the
    records that it is made of. Lengths in mm.

    `size_mm`: low limit of the journal, at which temperatures are judged. `on_part`: scatter of one
    reading on the part, `on_stack` of one on the stack; `is_one` where these are one estimate.
    `ratio`: by which a length as read is multiplied to be that at 20 degrees Celsius.
    """

    stint: int
    checks: Checks
    drift: HistoryDrift | None
    on_part: Scatter
    on_stack: Scatter
    is_one: bool
    step_mm: Decimal
    stack_mm: Decimal
    stack_u_mm: float
    stack_note: str
    joints: int
    wringing_u_mm: float
    permitted_error_mm: Decimal | None
    pitch_mm: Decimal
    ratio: Fraction
    size_mm: Decimal
    part_c: Decimal | None
    part: Coefficient
    reference: Reference
    thermometer_limit_k: Decimal
    room_limit_k: Decimal
    difference_limit_k: Decimal

    @property
    def is_provisional(self) -> bool:
        """No passed check has closed the bracket yet."""
        return self.checks.moved_mm is None

    def estimate(self, read_mm: Fraction) -> Fraction:
        """The best estimate of a diameter at 20 degrees Celsius from a mean as read."""
        return (read_mm - self.checks.error_mm) * self.ratio


def of_place(about: Conditions, count: int) -> Mean:
    """Of a place with `count` readings."""
    return mean_of(count, about.on_part, about.step_mm)


def of_check(about: Conditions) -> Mean:
    """Of a check: once, not halved though there are two, for what both checks share is more than
    their scatter.
    """
    return mean_of(about.checks.readings, about.on_stack, about.step_mm)


def size_budget(about: Conditions, y_mm: Fraction, count: int, confidence: float) -> Budget:
    """The budget of an estimate `y_mm` from `count` readings at a place, one-sided.

    u_c**2 = stack**2 + wringing**2 + temperatures**2 + check**2 + drift**2 + screw**2 + place**2
    (JCGM 100:2008, 5.1.2; degrees of freedom G.4.1).
    """
    return combine_one_sided(size_components(about, y_mm, count), confidence)


def size_components(about: Conditions, y_mm: Fraction, count: int) -> tuple[Component, ...]:
    """The lines of that budget, in the order of the model."""
    found = [
        _normal("stack", about.stack_u_mm, about.stack_note, f"{plain(about.stack_mm)} mm"),
    ]
    if about.joints:
        note = f"{about.joints} joints; the film itself is part of each block's length"
        found.append(_normal("wringing", about.wringing_u_mm, note))
    return (
        *found,
        *_scatter(about, count),
        _drift(about),
        *_screw(about, y_mm),
        *(part for part in temperature_components(about) if part.u * part.sensitivity),
    )


def _scatter(about: Conditions, count: int) -> list[Component]:
    """Of place and check; one component where one standard deviation rules both, so that its
    degrees of freedom do not count twice.
    """
    place, check = of_place(about, count), of_check(about)
    checked = f"mean of {about.checks.readings} on the stack"
    taken = "one reading on the part" if count == 1 else f"mean of {count} on the part"
    if about.is_one and place.is_scatter and check.is_scatter:
        return [
            Component(
                name="repeatability, part and stack",
                estimate="0",
                u=math.sqrt(about.on_part.variance),
                unit="mm",
                sensitivity=math.sqrt(1 / count + 1 / about.checks.readings),
                dof=about.on_part.dof,
                kind="A" if math.isfinite(about.on_part.dof) else "B",
                note=f"{taken}, {checked}; {about.on_part.note}",
            )
        ]
    return [
        _of_mean("check repeatability", check, about, about.on_stack, checked),
        _of_mean("reading repeatability", place, about, about.on_part, taken),
    ]


def _of_mean(name: str, mean: Mean, about: Conditions, by: Scatter, what: str) -> Component:
    if not mean.is_scatter:
        step = f"half a step of {plain(about.step_mm)} mm, more than scatter makes of it"
        return flat(name, "0", mean.u_mm, "mm", 1.0, f"{what}; {step}")
    return Component(
        name=name,
        estimate="0",
        u=mean.u_mm,
        unit="mm",
        sensitivity=1.0,
        dof=mean.dof,
        kind="A" if math.isfinite(mean.dof) else "B",
        note=f"{what}; {by.note}",
    )


def drift_u(about: Conditions) -> tuple[float, float]:
    """Standard uncertainty of drift in mm, and its degrees of freedom.

    Closed by a check: half of what the gauge moved, since a jump at an unknown time is as likely as
    a creep (for a creep alone it would be that over sqrt(3)). Open: by the gauge's own history,
    else the drift permitted, rectangular.
    """
    moved = about.checks.moved_mm
    if moved is not None:
        return float(moved) / 2, math.inf
    if about.drift is not None:
        return about.drift.sd_mm, about.drift.dof
    return rectangular(float(about.checks.max_drift_mm)), math.inf


def _drift(about: Conditions) -> Component:
    u, dof = drift_u(about)
    moved = about.checks.moved_mm
    if moved is not None:
        note = f"half of the {float(moved) * 1000:.2f} um between the checks before and after"
        return _normal("drift between checks", u, note)
    if about.drift is None:
        note = "provisional: permitted until the closing check"
        return flat("drift between checks", "0", u, "mm", 1.0, note)
    return Component(
        name="drift between checks",
        estimate="0",
        u=u,
        unit="mm",
        sensitivity=1.0,
        dof=dof,
        kind="A",
        note=f"provisional: by the gauge's history, {about.drift.source}",
    )


def screw_u(permitted_mm: Decimal, pitch_mm: Decimal, away_mm: Fraction) -> float:
    """Standard uncertainty in mm of the screw's error between two sizes `away_mm` apart.

    The permitted error as a rectangular half width, as far as one turn lets it show:
    (E / sqrt(3)) min(1, pi away / pitch), the steepest slope of an error that comes again with
    every turn.
    """
    share = min(1.0, math.pi * float(away_mm) / float(pitch_mm))
    return rectangular(float(permitted_mm)) * share


def _screw(about: Conditions, y_mm: Fraction) -> list[Component]:
    if about.permitted_error_mm is None:
        return []
    away = abs(y_mm - Fraction(about.stack_mm))
    u = screw_u(about.permitted_error_mm, about.pitch_mm, away)
    permitted = plain(about.permitted_error_mm)
    note = f"permitted error {permitted} mm; {float(away):.4f} mm from the stack"
    return [flat("screw between stack and part", "0", u, "mm", 1.0, note)] if u else []


def _normal(name: str, u: float, note: str, estimate: str = "0") -> Component:
    return Component(name=name, estimate=estimate, u=u, unit="mm", sensitivity=1.0, note=note)


def step_between(means_mm: Sequence[Fraction]) -> Fraction:
    """The largest difference of a stint's mean errors."""
    return max(means_mm) - min(means_mm) if means_mm else Fraction(0)
