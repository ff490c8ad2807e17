"""At which size a group of journals can serve: one answer for the present size, and one for each
undersize of the plan. Pure; never a promise.

The next step (`next_step`) is one of these; the others are for whoever asks about many parts, like
"which of them clean up at 0.50".
"""

from collections.abc import Iterable, Sequence
from decimal import Decimal

import msgspec

from daq.disposition.case import Case, Measured
from daq.disposition.words import trimmed
from daq.lengths import EXACT, plain
from daq.plan.plan import GroupPlan, JournalPlan, Undersize
from daq.record.results import GroupResult


class SizeAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """Whether a group serves at one size; lengths are exact decimal text in mm, empty where there
    is none. `undersize` is empty for the present size, `cleans_up` yes, no, undecided or
    not-assessed.

    `metal_left_mm`: how far the least journal, `decided_by_journal`, is over what it must not be
    under: the undersize's high limit, for bearings without grinding the least journal that they
    serve, for the present size the low limit.
    """

    group: str
    undersize: str = ""
    by_mm: str = "0"
    low_limit_mm: str = ""
    high_limit_mm: str = ""
    cleans_up: str = "not-assessed"
    metal_left_mm: str = ""
    decided_by_journal: str = ""
    chosen: bool = False


def sizes_of(
    group: GroupPlan,
    found: Sequence[tuple[JournalPlan, Measured]],
    step: GroupResult | None,
    *,
    is_proven: bool,
) -> tuple[SizeAnswer, ...]:
    """The answers for one group by the results of all its journals: the present size, then the
    undersizes in the plan's order. `step` is its next step, which marks the answer that was chosen;
    where some reading is not proven (`is_proven`), nothing is assessed.
    """
    case = Case(group, [journal for journal, _ in found], [result for _, result in found])
    is_assessed = is_proven and not any(result.size == "above" for result in case.results)
    chosen = step.step if step is not None else ""
    answers = [_present(case, is_assessed, chosen == "serve-as-is")]
    for each in group.undersizes:
        is_chosen = (
            step is not None
            and step.undersize == each.name
            and chosen in ("bearing-undersize", "grind")
        )
        is_fitted = each.is_bearing_only or (is_chosen and chosen == "bearing-undersize")
        answers.append(_undersize(case, each, is_assessed, is_chosen, is_fitted))
    return tuple(answers)


def _present(case: Case, is_assessed: bool, is_chosen: bool) -> SizeAnswer:
    present = case.plan.present
    room = [
        (EXACT.subtract(result.smallest_mm, journal.limits.low.mm), journal, result)
        for journal, result in zip(case.journals, case.results, strict=True)
        if result.smallest_mm is not None
    ]
    answer = SizeAnswer(
        group=case.plan.name, by_mm=trimmed(present.by.mm) if present else "0", chosen=is_chosen
    )
    if not room:
        return answer
    over = [each for each in room if each[2].form == "over"]
    is_by_form = bool(over) and not any(result.size == "below" for _, _, result in room)
    left, journal, _ = over[0] if is_by_form else min(room, key=lambda each: each[0])
    high = journal.limits.high
    answer = msgspec.structs.replace(
        answer,
        low_limit_mm=plain(journal.limits.low.mm),
        high_limit_mm=plain(high.mm) if high else "",
    )
    if not is_assessed:
        return answer
    return msgspec.structs.replace(
        answer,
        cleans_up=_serves(case),
        metal_left_mm=plain(left),
        decided_by_journal=journal.name,
    )


def _serves(case: Case) -> str:
    """Do the journals serve as they are?"""
    if case.forced:
        return "no"
    if case.unmeasured:
        return "not-assessed"
    is_near = any(
        result.size == "undecided" or result.form in ("undecided", "not-enough-positions")
        for result in case.results
    )
    return "undecided" if is_near else "yes"


def _undersize(
    case: Case, step: Undersize, is_assessed: bool, is_chosen: bool, is_fitted: bool
) -> SizeAnswer:
    """Can all journals be brought to an undersize: ground, or fitted as they are (`is_fitted`)?"""
    answer = SizeAnswer(
        group=case.plan.name,
        undersize=step.name,
        by_mm=trimmed(step.by.mm),
        low_limit_mm=plain(step.low.mm),
        high_limit_mm=plain(step.high.mm) if step.high else "",
        chosen=is_chosen,
    )
    bound = step.serves_from if is_fitted or step.high is None else step.high
    clean_up = case.plan.clean_up
    wanted = clean_up.mm if clean_up and not is_fitted else Decimal(0)
    room = [
        (EXACT.subtract(result.smallest_mm, bound.mm), journal, result)
        for journal, result in zip(case.journals, case.results, strict=True)
        if result.smallest_mm is not None
    ]
    if not is_assessed or not room:
        return answer
    left, least, _ = min(room, key=lambda each: each[0])
    return msgspec.structs.replace(
        answer,
        cleans_up=_cleans_up(
            [(EXACT.subtract(mm, wanted), result.guard_mm) for mm, _, result in room],
            is_complete=not case.unmeasured,
        ),
        metal_left_mm=plain(left),
        decided_by_journal=least.name,
    )


def _cleans_up(spare: Iterable[tuple[Decimal, Decimal]], *, is_complete: bool) -> str:
    """By each journal's spare metal and guard. A place that was not measured may be smaller, so
    only a no rests on the others.
    """
    answers = {
        "no" if mm < -guard else "yes" if mm >= guard else "undecided" for mm, guard in spare
    }
    if "no" in answers:
        return "no"
    if not is_complete:
        return "not-assessed"
    return "undecided" if "undecided" in answers else "yes"
