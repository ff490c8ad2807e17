"""The uncertainty of a journal's diameter, after the GUM (JCGM 100). Pure.

Model: the gauge is proven on a stack of known size just before and after, so a diameter at 20
degrees Celsius is

    D = (R - e + d) * (1 + a_s*(T_s - 20)) / (1 + a_p*(T_p - 20))

with R the reading on the part, e the gauge's error on the stack (mean of the check's readings minus
the stack's size), d the drift since that check, a and T the expansion coefficients and temperatures
of stack and part. Sizes are not corrected by e: its amount is added to the expanded uncertainty
(the symmetric interval for an uncorrected bias: Phillips, Eberhardt and Parry, J. Res. NIST 102
(1997) 577). Estimates are floats in mm; what a limit is compared with is a decimal, rounded up.
"""

import math
from decimal import Decimal
from functools import lru_cache

import msgspec

from daq.evaluation.temperature_lines import flat, temperature_components
from daq.lengths import plain
from daq.metrology.expansion import Coefficient
from daq.metrology.uncertainty.budget import Budget, combine, rounded_up
from daq.metrology.uncertainty.components import Component, rectangular
from daq.record.environment import Reference

GUARD_STEP_MM = Decimal("0.00001")
"""Expanded uncertainties are rounded up to this before anything is compared with them."""


class DiameterInputs(msgspec.Struct, frozen=True):
    """What the uncertainty of one journal's diameters rests on.

    `size_mm`: about how large they are. `repeats`: the fewest readings at one place, whose mean
    form is taken from; `is_apart`: a check or a long time lies between them. `stack_mm`: size of
    the stack, `stack_u_mm` its standard uncertainty, `wringing_u_mm` that of its `joints`.
    `check_sd_mm`: sample standard deviation of one reading on the stack, pooled over the stint's
    checks, with its degrees of freedom; `check_readings` a check. `reading_sd_mm`: that of one
    reading on the part; `is_reading_as_check`: it is the check's, for want of another. `step_mm`:
    resolution. `max_drift_mm`: drift allowed between checks. `error_mm`: the largest |mean error|
    of the stint's passed checks, `bias_mm` the mean of their mean errors with its sign.
    """

    size_mm: Decimal
    stint: int
    repeats: int
    is_apart: bool
    stack_mm: Decimal
    stack_u_mm: float
    stack_note: str
    joints: int
    wringing_u_mm: float
    check_sd_mm: float
    check_dof: float
    check_readings: int
    max_spread_mm: Decimal
    reading_sd_mm: float
    reading_dof: float
    reading_note: str
    is_reading_as_check: bool
    step_mm: Decimal
    max_drift_mm: Decimal
    error_mm: float
    bias_mm: float
    part_c: Decimal | None
    part: Coefficient
    reference: Reference
    thermometer_limit_k: Decimal
    room_limit_k: Decimal
    difference_limit_k: Decimal
    coverage: float


class Expanded(msgspec.Struct, frozen=True):
    """An expanded uncertainty with the budget behind it; `added_mm` is the uncorrected error that
    was added to k * u_c. `guard_mm`: the sum, rounded up to GUARD_STEP_MM.
    """

    budget: Budget
    added_mm: float
    guard_mm: Decimal


def expanded(budget: Budget, added_mm: float = 0.0) -> Expanded:
    """The guard that a budget gives."""
    return Expanded(budget, added_mm, rounded_up(budget.expanded + added_mm, GUARD_STEP_MM))


@lru_cache(maxsize=512)
def size_uncertainty(about: DiameterInputs) -> Expanded:
    """The expanded uncertainty of one diameter at 20 degrees Celsius."""
    return expanded(combine(components(about), about.coverage), about.error_mm)


@lru_cache(maxsize=512)
def form_uncertainty(about: DiameterInputs, *, is_one_stint: bool) -> Expanded:
    """The expanded uncertainty of the difference of two diameters of one journal.

    Form compares means of the repeats at a place. What both share cancels: stack, wringing, error
    on the stack, temperatures. Drift is left out where the readings follow each other closely, and
    counted where a check or a long time lies between them. Two stints share nothing for certain:
    then each reading counts in full, and so does the error on the stack of each.
    """
    twice = math.sqrt(2)
    if is_one_stint:
        found = [
            _reading_scatter(about, twice / math.sqrt(about.repeats)),
            _resolution(about, "resolution of both readings", twice),
        ]
        if about.is_apart:
            found.append(_drift(about))
        return expanded(combine(found, about.coverage))
    each = [
        msgspec.structs.replace(part, sensitivity=twice * part.sensitivity)
        for part in components(about)
    ]
    return expanded(combine(each, about.coverage), 2 * about.error_mm)


def components(about: DiameterInputs) -> tuple[Component, ...]:
    """The components of a diameter's uncertainty, in the order of the model."""
    found = [
        Component(
            name="stack",
            estimate=f"{plain(about.stack_mm)} mm",
            u=about.stack_u_mm,
            unit="mm",
            sensitivity=1.0,
            dof=math.inf,
            kind="B",
            distribution="normal",
            note=about.stack_note,
        ),
    ]
    if about.joints:
        found.append(
            Component(
                name="wringing",
                estimate="0",
                u=about.wringing_u_mm,
                unit="mm",
                sensitivity=1.0,
                dof=math.inf,
                kind="B",
                distribution="normal",
                note=f"{about.joints} joints; the film itself is part of each block's length",
            )
        )
    scatter = (
        [_both_scatters(about)]
        if _is_one_estimate(about)
        else [_check_scatter(about), _reading_scatter(about)]
    )
    return (
        *found,
        *scatter,
        _resolution(about, "resolution on the stack"),
        _resolution(about, "resolution on the part"),
        _drift(about),
        *(part for part in temperature_components(about) if part.u * part.sensitivity),
    )


def _is_one_estimate(about: DiameterInputs) -> bool:
    return about.is_reading_as_check and about.check_dof > 0


def _both_scatters(about: DiameterInputs) -> Component:
    """One standard deviation serves for both, so its degrees of freedom must not count twice."""
    return Component(
        name="repeatability, part and stack",
        estimate="0",
        u=about.check_sd_mm,
        unit="mm",
        sensitivity=math.sqrt(1 + 1 / about.check_readings),
        dof=about.check_dof,
        kind="A",
        distribution="normal",
        note=f"one reading on the part and the mean of {about.check_readings} on the stack: "
        f"{about.reading_note}",
    )


def _check_scatter(about: DiameterInputs) -> Component:
    """Of the mean of the check's readings on the stack."""
    if not about.check_dof:
        return _unseen(about, "check repeatability")
    return Component(
        name="check repeatability",
        estimate="0",
        u=about.check_sd_mm / math.sqrt(about.check_readings),
        unit="mm",
        sensitivity=1.0,
        dof=about.check_dof,
        kind="A",
        distribution="normal",
        note=f"mean of {about.check_readings}; s = {about.check_sd_mm * 1000:.2f} um pooled over "
        "the stint's checks",
    )


def _reading_scatter(about: DiameterInputs, sensitivity: float = 1.0) -> Component:
    """Of one reading on the part."""
    if not about.reading_dof:
        return _unseen(about, "reading repeatability", sensitivity)
    return Component(
        name="reading repeatability",
        estimate="0",
        u=about.reading_sd_mm,
        unit="mm",
        sensitivity=sensitivity,
        dof=about.reading_dof,
        kind="A",
        distribution="normal",
        note=about.reading_note,
    )


def _unseen(about: DiameterInputs, name: str, sensitivity: float = 1.0) -> Component:
    return _limits(
        name,
        float(about.max_spread_mm) / 2,
        "one reading a check shows no scatter: half its permitted spread either way",
        sensitivity,
    )


def _resolution(about: DiameterInputs, name: str, sensitivity: float = 1.0) -> Component:
    step = f"half a step of {plain(about.step_mm)} mm"
    return _limits(name, float(about.step_mm) / 2, step, sensitivity)


def _drift(about: DiameterInputs, sensitivity: float = 1.0) -> Component:
    return _limits(
        "drift between checks",
        float(about.max_drift_mm),
        "allowed until the next passed check; not corrected",
        sensitivity,
    )


def _limits(name: str, half_width: float, note: str, sensitivity: float = 1.0) -> Component:
    return flat(name, "0", rectangular(half_width), "mm", sensitivity, note)
