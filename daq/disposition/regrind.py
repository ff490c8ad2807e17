"""To which undersize a group of journals is ground, or that there is none. Pure.

The rule is chosen by us after common workshop manuals ("if one or more are to be ground, grind
all"): the smallest undersize whose high limit, plus the clean-up allowance, is not over the
smallest reading of any journal of the group. It is necessary, not sufficient: a grinder keeps the
journal's axis, so wear on one side needs up to twice the loss of diameter (geometry).
"""

from decimal import Decimal
from fractions import Fraction

from daq.disposition.case import Case, result_of
from daq.disposition.words import ground_remarks
from daq.lengths import EXACT
from daq.plan.plan import Undersize
from daq.record.results import GroupResult


def ground(case: Case) -> GroupResult:
    """Grind all journals of the group, or shelf; `not-assessed` where the plan has no undersize."""
    why = f"{case.why}. One to be ground means all of the group"
    clean_up = case.plan.clean_up
    with_clean_up = f" with {clean_up} of clean-up" if clean_up else ""
    smallest = case.smallest_mm
    last: Undersize | None = None
    for number, step in enumerate(case.plan.undersizes, 1):
        present = case.plan.present
        if step.is_bearing_only or step.high is None:
            continue
        last = step
        if present is not None and step.by.mm <= present.by.mm:
            continue  # it is ground to that already
        if case.least_mm - Fraction(step.high.mm) < (Fraction(clean_up.mm) if clean_up else 0):
            continue
        spare = EXACT.subtract(smallest, step.high.mm)
        guard = max(result.guard_mm for result in case.results)
        beyond = case.plan.undersizes[number:]
        return result_of(
            case,
            "grind",
            f"{why}. {step.name} is the smallest undersize whose high limit, {step.high}"
            f"{with_clean_up}, is not over the smallest reading, {case.show(smallest)}",
            step=step,
            between=(step.low.mm, step.high.mm),
            is_finished=True,
            remarks=ground_remarks(step, beyond, spare, guard, case.unmeasured),
        )
    if last is None:
        return _no_steps(case, why)
    return result_of(
        case,
        "shelf",
        f"{why}. The smallest reading, {case.show(smallest)}, is too small for {last.name}, the "
        f"last undersize in the plan, whose high limit is {last.high}{with_clean_up}",
        remarks=_undersize_between(case, last),
    )


def _least_mm(case: Case) -> Decimal | None:
    """What the high limit would be at the greatest undersize, if the plan says how far."""
    greatest = case.plan.greatest_undersize
    high = case.journals[0].standard_limits.high
    return None if greatest is None or high is None else EXACT.subtract(high.mm, greatest.mm)


def _no_steps(case: Case, why: str) -> GroupResult:
    least = _least_mm(case)
    if least is not None and case.least_mm < least:
        return result_of(
            case,
            "shelf",
            f"{why}. The smallest reading, {case.show(case.smallest_mm)}, is under "
            f"{case.show(least)}, the standard high limit less greatest_undersize",
        )
    return result_of(
        case, "not-assessed", f"{why}, but the plan has no undersize that it could be ground to"
    )


def _undersize_between(case: Case, last: Undersize) -> list[str]:
    least = _least_mm(case)
    if least is None or case.least_mm < least:
        return []
    return [
        f"greatest_undersize = {case.plan.greatest_undersize} would allow one beyond {last.name}, "
        "if bearings for it can be had"
    ]
