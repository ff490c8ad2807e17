"""What may be done next with a group of journals: serve as they are, bearings of an undersize
without grinding, grind all of them to one undersize, or shelf. Pure; never a promise.
"""

from collections.abc import Sequence
from fractions import Fraction

from daq.disposition.case import Case, Measured, extremes, result_of
from daq.disposition.regrind import ground
from daq.disposition.words import fitted_remarks, names_in
from daq.plan.plan import GroupPlan, JournalPlan, Undersize
from daq.record.results import GroupResult

NOT_SEEN = "out-of-round was not seen: two angles can miss all of it, so size alone decided"
"""Of a group that may serve though its places show nothing of an oval."""


def dispose(group: GroupPlan, found: Sequence[tuple[JournalPlan, Measured]]) -> GroupResult:
    """The next step for a group, by the results of all its journals in the plan's order."""
    case = Case(group, [journal for journal, _ in found], [result for _, result in found])
    above = _above(case)
    if above is not None:
        return above
    if not case.forced:
        return _open_question(case) or _served(case)
    if any(result.form == "over" for result in case.forced):
        return ground(case)
    return _bearing(case) or ground(case)


def _above(case: Case) -> GroupResult | None:
    """A journal over its high limit puts the whole plan in doubt; None if there is none."""
    above = [result.journal for result in case.results if result.size == "above"]
    if not above:
        return None
    return result_of(
        case,
        "not-assessed",
        f"over the high limit: {names_in(above)}. Wear cannot do that: see whether part, limits "
        "and present undersize are the right ones",
    )


def _open_question(case: Case) -> GroupResult | None:
    """What keeps a group from any step short of grinding; None if nothing does."""
    if case.unmeasured or not case.results:
        names = names_in(case.unmeasured) or "no journal at all"
        return result_of(case, "not-assessed", f"not measured in full: {names}")
    near = [
        result.journal
        for result in case.results
        if result.size == "undecided" or result.form in ("undecided", "not-enough-positions")
    ]
    if near:
        return result_of(
            case,
            "undecided",
            f"the measurement does not settle size or form of {names_in(near)}, and the next step "
            "depends on it",
        )
    return None


def _served(case: Case) -> GroupResult:
    present = case.plan.present
    of_what = f" of the undersize {present.name} that it has" if present else ""
    is_formless = any(result.form == "no-limit" for result in case.results)
    return result_of(
        case,
        "serve-as-is",
        f"by its readings every journal lies within its limits{of_what}",
        step=present,
        between=extremes(case.results),
        remarks=[
            *(["no limit on form in the plan, so form was not judged"] if is_formless else []),
            *([NOT_SEEN] if any(result.form == "not-seen" for result in case.results) else []),
        ],
    )


def _bearing(case: Case) -> GroupResult | None:
    """Bearings of an undersize and no grinding; None if no undersize fits all that is too small."""
    present = case.plan.present
    doubtful: Undersize | None = None
    for step in case.plan.undersizes:
        if present is not None and step.by.mm <= present.by.mm:
            continue
        answers = {_fit(step, result) for result in case.forced}
        if "no" in answers:
            continue
        if answers == {"yes"}:
            return _open_question(case) or _fitted(case, step)
        doubtful = doubtful or step
    if doubtful is None:
        return None
    return _open_question(case) or result_of(
        case,
        "undecided",
        f"{case.why}; too near the limits of the undersize {doubtful.name} to say whether its "
        "bearings serve without grinding",
    )


def _fit(step: Undersize, result: Measured) -> str:
    """Does a bearing of this undersize serve this journal as it is: yes, no or undecided?

    A bearing-only undersize is chosen by the smallest reading alone, as manuals have it: a journal
    less worn than its printed high limit must not go to the grinder for that. One ground before
    must lie within the finished limits with its largest, too.
    """
    room = [result.least_mm - Fraction(step.serves_from.mm)]
    if step.high is not None and not step.is_bearing_only:
        room.append(Fraction(step.high.mm) - result.most_mm)
    guard = Fraction(result.guard_mm)
    if min(room) < -guard:
        return "no"
    return "yes" if min(room) >= guard else "undecided"


def _fitted(case: Case, step: Undersize) -> GroupResult:
    between = extremes(case.forced)
    rest = [result.journal for result in case.results if result not in case.forced]
    return result_of(
        case,
        "bearing-undersize",
        f"{case.why}. The smallest reading, {case.show(between[0])}, is not under "
        f"{step.serves_from}, the least journal for bearings of {step.name}, and no form is over "
        "its limit: bearings of that undersize, no grinding",
        step=step,
        between=between,
        remarks=fitted_remarks(step, rest, between[1]),
    )


__all__ = ["GroupResult", "dispose"]
