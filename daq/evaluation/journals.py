"""Journals against their limits by rule set 3: estimates, form, verdict. Pure; the live view and
the tables call the same function.
"""

import math
from collections.abc import Sequence
from fractions import Fraction

import msgspec
from msgspec.structs import asdict

from daq.evaluation.journal_form import FormValue, JournalForm, form_of_places
from daq.evaluation.judged_form import FormJudged, form_answer, form_remarks_of, judged_form
from daq.evaluation.places import Place
from daq.evaluation.remedies import Settling, form_settling, settling_words, size_settling
from daq.evaluation.size import JudgedSize, SizeRule, judge_size
from daq.lengths import Limits, mean_text, plain
from daq.plan.plan import DecisionPlan, JournalPlan
from daq.record.results import JournalResult


class Judged(msgspec.Struct, frozen=True):
    """A journal judged: the result as it is stored, and the unrounded numbers behind it, None where
    nothing was measured. `is_scattering`: the part scatters more than the stack. `settling`: what
    would settle it, where it is undecided.
    """

    result: JournalResult
    size: JudgedSize | None = None
    form: JournalForm | None = None
    is_scattering: bool = False
    settling: Settling | None = None


def rule_words(decision: DecisionPlan) -> str:
    """The rule of decision as every result names it."""
    if decision.rule == "simple":
        return "simple acceptance: no guard, the limits themselves decide"
    return (
        f"guarded acceptance: a limit counts as kept or passed at {decision.confidence:g} "
        "confidence (ISO 14253-1)"
    )


def evaluate(
    journal: JournalPlan,
    found: Sequence[Place],
    decision: DecisionPlan,
    measured: int,
    *,
    is_live: bool = False,
) -> Judged:
    """Judge one journal by its places, in route order; none if nothing was measured.

    `measured`: readings that stand. `is_live`: judged after each reading, so without the words for
    what would settle it.
    """
    planned = len(journal.stations) * len(journal.angles_deg) * journal.repeats
    is_complete = measured == planned
    form = form_of_places(found, journal.taper_limit, decision.confidence)
    step_mm = max((place.about.step_mm for place in found), default=None)
    answers = judged_form(journal.limits, form, decision.rule, step_mm)
    by = SizeRule(decision.rule, decision.confidence, journal.is_ground)
    size = judge_size(found, journal.limits, by) if found else None
    size_answer = _size_answer(size, is_complete)
    answer = form_answer(answers, is_complete=is_complete)
    settling = None
    if size is not None and is_complete and not is_live:
        if size_answer == "undecided":
            settling = size_settling(found, journal.limits, by)
        elif size_answer == "within" and answer == "undecided":
            settling = form_settling(answers[0], found, journal, decision, step_mm)
    is_provisional = any(place.about.is_provisional for place in found)
    result = JournalResult(
        journal=journal.name,
        group=journal.group,
        positions_planned=planned,
        positions_measured=measured,
        verdict=_verdict(size_answer, answer, is_complete),
        settled_by=settling_words(settling) if settling else "",
        decision_rule=rule_words(decision),
        provisional="yes" if is_provisional else "",
        **asdict(_size_result(journal.limits, size, size_answer, is_complete)),
        **asdict(_form_result(journal.limits, form, answers, answer)),
    )
    is_scattering = any(not place.about.is_one for place in found)
    return Judged(result, size, form if found else None, is_scattering, settling)


def _size_answer(size: JudgedSize | None, is_complete: bool) -> str:
    if size is None:
        return "incomplete"
    if size.answer in ("below", "above") or is_complete:
        return size.answer
    return "incomplete"


def _verdict(size: str, form: str, is_complete: bool) -> str:
    """The worst of both; a form that these angles cannot see leaves the size to decide."""
    if size in ("below", "above"):
        return size
    if form == "over":
        return "out-of-form"
    if not is_complete:
        return "incomplete"
    if size == "undecided" or form in ("undecided", "not-enough-positions"):
        return "undecided"
    return "within"


class _OfSize(msgspec.Struct, frozen=True, kw_only=True):
    """The fields of a JournalResult that speak of its sizes and how well they are known."""

    size_verdict: str
    low_limit_mm: str
    high_limit_mm: str
    smallest_mm: str = ""
    smallest_at: str = ""
    smallest_read_mm: str = ""
    largest_mm: str = ""
    largest_at: str = ""
    largest_read_mm: str = ""
    margin_to_low_mm: str = ""
    conformance_probability: str = ""
    uncertainty_mm: str = ""
    standard_uncertainty_mm: str = ""
    coverage_factor: str = ""
    effective_dof: str = ""


def _size_result(
    limits: Limits, size: JudgedSize | None, answer: str, is_complete: bool
) -> _OfSize:
    low, high = limits.low.mm, limits.high
    against = _OfSize(
        size_verdict=answer,
        low_limit_mm=plain(low),
        high_limit_mm="" if high is None else plain(high.mm),
    )
    if size is None:
        return against
    smallest, largest, budget = size.smallest.place, size.largest.place, size.decisive.budget
    tenths = math.floor(10 * budget.effective_dof) if math.isfinite(budget.effective_dof) else None
    return msgspec.structs.replace(
        against,
        smallest_mm=mean_text(smallest.y_mm),
        smallest_at=smallest.at,
        smallest_read_mm=as_read(smallest),
        largest_mm=mean_text(largest.y_mm),
        largest_at=largest.at,
        largest_read_mm=as_read(largest),
        margin_to_low_mm=mean_text(smallest.y_mm - Fraction(low)),
        conformance_probability=f"{size.probability:.5f}" if is_complete else "",
        uncertainty_mm=plain(size.decisive.guard_mm),
        standard_uncertainty_mm=f"{budget.combined:.6f}",
        coverage_factor=f"{budget.k:.3f}",
        effective_dof="" if tenths is None else f"{tenths / 10:.1f}",
    )


def as_read(place: Place) -> str:
    """A single reading with the digits that it has in mm, a mean to 0.00001 mm."""
    return plain(place.total_mm) if place.count == 1 else mean_text(place.read_mm)


class _OfForm(msgspec.Struct, frozen=True, kw_only=True):
    """The fields of a JournalResult that speak of its form."""

    form_verdict: str
    form_by: str
    out_of_round_mm: str
    out_of_round_at: str
    out_of_round_limit_mm: str
    out_of_round_uncertainty_mm: str
    taper_mm: str
    taper_at: str
    taper_limit_mm: str
    taper_uncertainty_mm: str
    form_uncertainty_mm: str
    angles_used: str
    ovality_seen: str
    ellipse_mm: str
    ellipse_deg: str
    remarks: str


def _form_result(
    limits: Limits, found: JournalForm, answers: Sequence[FormJudged], answer: str
) -> _OfForm:
    guards = [value.guard_mm for value in (found.out_of_round, found.taper) if value is not None]
    oval = found.oval
    return _OfForm(
        form_verdict=answer,
        form_by=found.by,
        out_of_round_mm=_value(found.out_of_round),
        out_of_round_at=found.out_of_round.at if found.out_of_round else "",
        out_of_round_limit_mm=plain(limits.out_of_round.mm) if limits.out_of_round else "",
        out_of_round_uncertainty_mm=_guard(found.out_of_round),
        taper_mm=_value(found.taper),
        taper_at=found.taper.at if found.taper else "",
        taper_limit_mm=_taper_limit(limits, found),
        taper_uncertainty_mm=_guard(found.taper),
        form_uncertainty_mm=plain(max(guards)) if guards else "",
        angles_used=";".join(map(str, found.angles_deg)),
        ovality_seen="" if found.share_seen is None else f"{found.share_seen:.4f}",
        ellipse_mm=mean_text(oval.ovality_mm) if oval else "",
        ellipse_deg=str(round(oval.direction_deg) % 180) if oval else "",
        remarks="; ".join(form_remarks_of(found, answers)),
    )


def _value(value: FormValue | None) -> str:
    return "" if value is None else mean_text(value.value_mm)


def _guard(value: FormValue | None) -> str:
    return "" if value is None else plain(value.guard_mm)


def _taper_limit(limits: Limits, found: JournalForm) -> str:
    """The limit of the taper in the table; one per length has no amount where none was measured."""
    if found.taper is not None:
        for value, limit_mm in found.tapers:
            is_it = value.value_mm == found.taper.value_mm
            if is_it and value.at.split()[0] == found.taper.at.split()[0]:
                return plain(limit_mm)
    taper = limits.taper
    return "" if taper is None or limits.taper_per is not None else plain(taper.mm)


__all__ = ["Judged", "as_read", "evaluate", "rule_words"]
