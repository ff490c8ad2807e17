"""Journals against their limits: sizes, form, verdict. Pure; the live view and the tables call the
same function.
"""

import math
from collections.abc import Mapping, Sequence
from decimal import Decimal

import msgspec
from msgspec.structs import asdict

from daq.lengths import EXACT, Limits, plain
from daq.metrology.conformity import DecisionRule, conformance_probability, decide_size
from daq.metrology.form import FormFound, form_of
from daq.metrology.form_conformity import (
    JudgedForm,
    Settles,
    decided_by,
    form_settles,
    judge_form,
)
from daq.plan.plan import JournalPlan
from daq.record.results import JournalResult
from daq.record.standing import JournalReadings


class Certainty(msgspec.Struct, frozen=True):
    """How well one journal's diameters are known, and by which rule that decides.

    `size_mm` and `form_mm`: expanded uncertainty of a diameter and of a difference of two; None
    before anything was measured. `standard_mm`: standard uncertainty; `added_mm`: the amount of
    the error on the stack in `size_mm`. `parts`: standard uncertainty and mean error on the stack,
    which the sizes are not corrected for, of each stint and run.
    """

    rule: DecisionRule
    size_mm: Decimal | None = None
    form_mm: Decimal | None = None
    standard_mm: float = 0.0
    parts: Mapping[tuple[int, int], tuple[float, float]] = {}
    added_mm: float = 0.0
    coverage_factor: float = 0.0
    dof: float = math.inf


RULES_SAID = {
    "guarded": "guarded acceptance: guard = expanded uncertainty (ISO 14253-1)",
    "simple": "simple acceptance: no guard, the limits themselves decide",
}
"""The rule of decision as every result names it."""


def evaluate(
    journal: JournalPlan,
    readings: JournalReadings | None,
    proof: Certainty,
    resolution_mm: Decimal | None,
    settled_by: Settles = lambda needed_mm: "",
    form_settled_by: Settles = lambda needed_mm: "",
) -> JournalResult:
    """Judge one journal.

    `readings`: those that stand, None if there are none. `resolution_mm`: the coarsest among them.
    `settled_by` says what would bring the expanded uncertainty of a size down to so many mm,
    `form_settled_by` that of a difference.
    """
    limits = journal.limits
    planned = len(journal.stations) * len(journal.angles_deg) * journal.repeats
    measured = len(readings.taken) if readings else 0
    is_complete = measured == planned
    found = readings.form if readings else form_of((), journal.repeats, journal.taper_limit)
    answers = judge_form(limits, found, proof.form_mm, proof.rule, resolution_mm)
    size = _size_answer(limits, readings, proof, is_complete)
    form = _form_answer(answers, is_complete)
    settles = ""
    if is_complete and readings and size == "undecided":
        settles = settled_by(_nearest(limits, readings))
    elif is_complete and size == "within" and form == "undecided":
        settles = form_settles(answers[0], resolution_mm, form_settled_by)
    return JournalResult(
        journal=journal.name,
        group=journal.group,
        positions_planned=planned,
        positions_measured=measured,
        verdict=_verdict(size, form, is_complete),
        settled_by=settles,
        **asdict(_size_result(limits, readings, proof, size, is_complete)),
        **asdict(_form_result(limits, found, answers, form)),
        **asdict(_proof_result(proof)),
    )


class _SizeResult(msgspec.Struct, frozen=True, kw_only=True):
    """The fields of a JournalResult that speak of its sizes."""

    size_verdict: str
    low_limit_mm: str
    high_limit_mm: str
    smallest_mm: str = ""
    smallest_at: str = ""
    largest_mm: str = ""
    largest_at: str = ""
    margin_to_low_mm: str = ""
    conformance_probability: str = ""


def _size_result(
    limits: Limits,
    readings: JournalReadings | None,
    proof: Certainty,
    answer: str,
    is_complete: bool,
) -> _SizeResult:
    low, high = _ends(limits)
    against = _SizeResult(size_verdict=answer, low_limit_mm=plain(low), high_limit_mm=_shown(high))
    if readings is None:
        return against
    smallest, largest = readings.smallest, readings.largest
    return msgspec.structs.replace(
        against,
        smallest_mm=plain(smallest.at_20c_mm),
        smallest_at=smallest.position.place,
        largest_mm=plain(largest.at_20c_mm),
        largest_at=largest.position.place,
        margin_to_low_mm=plain(EXACT.subtract(smallest.at_20c_mm, low)),
        conformance_probability=_probability(low, high, readings, proof) if is_complete else "",
    )


class _FormResult(msgspec.Struct, frozen=True, kw_only=True):
    """The fields of a JournalResult that speak of its form."""

    form_verdict: str
    out_of_round_mm: str
    out_of_round_at: str
    out_of_round_limit_mm: str
    taper_mm: str
    taper_at: str
    taper_limit_mm: str
    angles_used: str
    ovality_seen: str
    ellipse_mm: str
    ellipse_deg: str
    remarks: str


def _form_result(
    limits: Limits, found: FormFound, answers: Sequence[JudgedForm], answer: str
) -> _FormResult:
    taper = next((one for one in answers if one.is_taper), None)
    return _FormResult(
        form_verdict=answer,
        out_of_round_mm=found.out_of_round.text if found.out_of_round else "",
        out_of_round_at=found.out_of_round.at if found.out_of_round else "",
        out_of_round_limit_mm=plain(limits.out_of_round.mm) if limits.out_of_round else "",
        taper_mm=found.taper.text if found.taper else "",
        taper_at=found.taper.at if found.taper else "",
        taper_limit_mm=_taper_limit(limits, found),
        angles_used=";".join(map(str, found.angles)),
        ovality_seen=_text(found.ovality_seen, 4),
        ellipse_mm=_text(found.ellipse_mm, 5),
        ellipse_deg="" if found.ellipse_deg is None else str(round(found.ellipse_deg) % 180),
        remarks="; ".join((*found.remarks, *decided_by(taper, found))),
    )


class _ProofResult(msgspec.Struct, frozen=True, kw_only=True):
    """The fields of a JournalResult that say how well its numbers are known."""

    decision_rule: str
    form_uncertainty_mm: str
    uncertainty_mm: str
    standard_uncertainty_mm: str = ""
    uncorrected_error_mm: str = ""
    coverage_factor: str = ""
    effective_dof: str = ""


def _proof_result(proof: Certainty) -> _ProofResult:
    rule = _ProofResult(
        decision_rule=RULES_SAID[proof.rule],
        form_uncertainty_mm=_shown(proof.form_mm),
        uncertainty_mm=_shown(proof.size_mm),
    )
    if proof.size_mm is None:
        return rule
    tenths = math.floor(10 * proof.dof) if math.isfinite(proof.dof) else None
    return msgspec.structs.replace(
        rule,
        standard_uncertainty_mm=f"{proof.standard_mm:.6f}",
        uncorrected_error_mm=f"{proof.added_mm:.5f}",
        coverage_factor=f"{proof.coverage_factor:.3f}",
        effective_dof="" if tenths is None else f"{tenths / 10:.1f}",
    )


def _ends(limits: Limits) -> tuple[Decimal, Decimal | None]:
    """The limits of size in mm."""
    return limits.low.mm, limits.high.mm if limits.high else None


def _shown(number: Decimal | None) -> str:
    return "" if number is None else plain(number)


def _taper_limit(limits: Limits, found: FormFound) -> str:
    """The limit of the taper in the table; one per length has no amount where none was measured."""
    if found.taper is not None:
        for form, limit_mm in found.tapers:
            if form.value == found.taper.value and form.at.split()[0] == found.taper.at:
                return plain(limit_mm)
    taper = limits.taper
    return "" if taper is None or limits.taper_per is not None else plain(taper.mm)


def _text(value: float | None, places: int) -> str:
    return "" if value is None else f"{value:.{places}f}"


def _size_answer(
    limits: Limits, readings: JournalReadings | None, proof: Certainty, is_complete: bool
) -> str:
    if readings is None:
        return "incomplete"
    low, high = _ends(limits)
    guard = proof.size_mm or Decimal(0)
    found = [
        decide_size(reading.at_20c_mm, low, high, guard, proof.rule)
        for reading in (readings.smallest, readings.largest)
    ]
    if "outside-low" in found:
        return "below"
    if "outside-high" in found:
        return "above"
    if not is_complete:
        return "incomplete"
    return "undecided" if "undecided" in found else "within"


def _form_answer(answers: Sequence[JudgedForm], is_complete: bool) -> str:
    """By the worst of the judged form limits."""
    answer = answers[0].answer if answers else "no-limit"
    if answer in ("within", "undecided") and not is_complete:
        return "not-enough-positions"  # what was not measured may be worse
    return answer


def _nearest(limits: Limits, readings: JournalReadings) -> Decimal:
    """How far the extreme sizes lie from the limits that they are too near to, in mm."""
    low, high = _ends(limits)
    away = [EXACT.subtract(readings.smallest.at_20c_mm, low).copy_abs()]
    if high is not None:
        away.append(EXACT.subtract(readings.largest.at_20c_mm, high).copy_abs())
    return min(away)


def _probability(
    low: Decimal, high: Decimal | None, readings: JournalReadings, proof: Certainty
) -> str:
    """That the true size keeps its limits, at the smallest and at the largest of each stint and
    run, each less its own error on the stack: the least of all.
    """
    found = [
        conformance_probability(
            EXACT.subtract(reading.at_20c_mm, Decimal(repr(proof.parts[part][1]))),
            proof.parts[part][0],
            low,
            high,
        )
        for part, both in readings.extremes.items()
        if part in proof.parts
        for reading in both
    ]
    return f"{min(found):.5f}" if found else ""


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
