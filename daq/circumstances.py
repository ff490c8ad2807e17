"""What each diameter's uncertainty rests on, gathered from the state of a session. Pure.

Standard deviations are sample ones, pooled by degrees of freedom, floats in mm.
"""

import math
from collections.abc import Sequence
from datetime import UTC, date, datetime
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

import msgspec

from daq.diameter import Circumstances
from daq.plan import JournalPlan
from daq.readings import JournalReadings, Squares, Taken, squares_of
from daq.session import State, step_mm
from daq.stacks.stack import Stack, assumed_stack
from daq.surroundings import reference
from daq.terms import parse_length


class Scatter(msgspec.Struct, frozen=True):
    """A pooled sample standard deviation in mm; `dof` 0: nothing was seen. `note` for people."""

    sd_mm: float
    dof: float
    note: str


def circumstances(
    state: State, readings: JournalReadings, reading: Scatter
) -> tuple[Circumstances, ...]:
    """One for each stint and run that a journal's readings come from, in order; `reading` is the
    scatter of one reading on the part.
    """
    return tuple(
        _of_stint(state, readings.journal, readings.fewest_repeats, last, reading)
        for _, last in sorted(readings.last_of_parts.items())
    )


def is_shared(abouts: Sequence[Circumstances]) -> bool:
    """All of a journal's readings share one stint and its temperatures, so that these cancel."""
    first = abouts[0]
    return all(
        (about.stint, about.part_c, about.reference) == (first.stint, first.part_c, first.reference)
        for about in abouts
    )


def _of_stint(
    state: State, journal: JournalPlan, repeats: int, taken: Taken, reading: Scatter
) -> Circumstances:
    around = state.surroundings[taken.run]
    stint = state.stints[taken.stint - 1]
    stack = around.stacks.get(stint.stack) or _assumed(stint.stack_size)
    found = _known(stack, _day(taken.at_us))
    check = check_scatter(state, taken.stint)
    is_reading_as_check = not reading.dof
    if is_reading_as_check:
        reading = msgspec.structs.replace(check, note=f"as on the stack; {check.note}")
    judged = [j.event for j in state.judged if j.event.stint == taken.stint]
    passed = [event for event in judged if event.passed]
    method = state.plan.temperature
    return Circumstances(
        size_mm=journal.limits.low.mm,
        stint=taken.stint,
        repeats=repeats,
        stack_mm=stack.size.mm,
        stack_u_mm=found.u_mm,
        stack_note=found.words,
        joints=found.joints,
        wringing_u_mm=found.wringing_u_mm,
        check_sd_mm=check.sd_mm,
        check_dof=check.dof,
        check_readings=min((event.readings for event in passed), default=1),
        max_spread_mm=max((Decimal(event.max_spread_mm) for event in judged), default=Decimal(0)),
        reading_sd_mm=reading.sd_mm,
        reading_dof=reading.dof,
        reading_note=reading.note,
        is_reading_as_check=is_reading_as_check,
        step_mm=step_mm(state, taken),
        max_drift_mm=max((Decimal(event.max_drift_mm) for event in judged), default=Decimal(0)),
        bias_mm=float(
            sum((Fraction(event.mean_error_mm) for event in passed), Fraction(0))
            / max(1, len(passed))
        ),
        error_mm=float(
            max((abs(Decimal(event.mean_error_mm)) for event in passed), default=Decimal(0))
        ),
        part_c=around.part_c,
        part=around.plan.part,
        reference=reference(around, stint.stack),
        thermometer_limit_k=method.thermometer_limit_k,
        room_limit_k=method.room_limit_k,
        difference_limit_k=method.difference_limit_k,
        coverage=state.plan.decision.coverage,
    )


@lru_cache(maxsize=64)
def _assumed(size: str) -> Stack:
    return assumed_stack(parse_length(size))


class _Known(msgspec.Struct, frozen=True):
    """A stack on one day."""

    u_mm: float
    words: str
    joints: int
    wringing_u_mm: float


@lru_cache(maxsize=64)
def _known(stack: Stack, day: date) -> _Known:
    found = stack.standard_uncertainty_mm(day)
    return _Known(found.u_mm, found.words, stack.joints, stack.wringing_u_mm)


def _day(at_us: int) -> date:
    return datetime.fromtimestamp(at_us // 1_000_000, UTC).date()


def check_scatter(state: State, stint: int) -> Scatter:
    """That of one reading on the stack, pooled over the stint's passed checks."""
    return _pooled(
        [
            squares_of(judged.errors)
            for judged in state.judged
            if judged.event.stint == stint and judged.event.passed and len(judged.errors) > 1
        ],
        "the stint's passed checks",
    )


def part_scatter(state: State) -> Scatter:
    """That of one reading on the part: from repeats at a place, else from the gauge's study, else
    none (dof 0).
    """
    found = _pooled([readings.squares for readings in state.by_journal.values()], "repeats")
    study = state.setup.study
    if found.dof or study is None:
        return found
    return Scatter(float(study.sd_mm), float(study.dof), f"gauge study {study.source}")


def _pooled(found: Sequence[Squares], of: str) -> Scatter:
    """Pooled by degrees of freedom; standard deviations are never averaged.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 2.4.4.
    """
    dof = sum(one.dof for one in found)
    if not dof:
        return Scatter(0.0, 0.0, "")
    sd = math.sqrt(math.fsum(one.total for one in found) / dof)
    return Scatter(sd, float(dof), f"s = {sd * 1000:.2f} um from {of}, {dof} degrees of freedom")
