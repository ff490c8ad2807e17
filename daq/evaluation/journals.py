"""Journals against their limits: sizes, form, verdict. Pure; the live view and the tables call the
same function.
"""

import math
from collections.abc import Mapping
from decimal import Decimal

import msgspec

from daq.lengths import EXACT, Limits, plain
from daq.metrology.conformity import DecisionRule, conformance_probability, decide_size
from daq.metrology.form import FormFound, form_of
from daq.metrology.form_conformity import Settles, decided_by, form_settles, judge_form
from daq.plan.plan import JournalPlan
from daq.record.results import JournalResult
from daq.record.standing import JournalReadings, PartReading


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
    taken = readings.taken if readings else ()
    smallest = readings.smallest if readings else None
    largest = readings.largest if readings else None
    found = readings.form if readings else form_of((), journal.repeats, journal.taper_limit)
    is_complete = len(taken) == planned
    low, high = limits.low.mm, limits.high.mm if limits.high else None
    size = _size_verdict(low, high, smallest, largest, proof)
    settles = ""
    if is_complete and size == "undecided" and smallest is not None and largest is not None:
        settles = settled_by(_nearest(low, high, smallest.at_20c_mm, largest.at_20c_mm))
    if size in ("within", "undecided") and not is_complete:
        size = "incomplete"
    answers = judge_form(limits, found, proof.form_mm, proof.rule, resolution_mm)
    form = answers[0].answer if answers else "no-limit"
    if form in ("within", "undecided") and not is_complete:
        form = "not-enough-positions"  # what was not measured may be worse
    if is_complete and size == "within" and form == "undecided":
        settles = form_settles(answers[0], resolution_mm, form_settled_by)
    guarded = proof.size_mm is not None
    probable = _probability(low, high, readings, proof) if is_complete and readings else ""
    taper = next((one for one in answers if one.is_taper), None)
    return JournalResult(
        journal=journal.name,
        group=journal.group,
        positions_planned=planned,
        positions_measured=len(taken),
        smallest_mm=plain(smallest.at_20c_mm) if smallest else "",
        smallest_at=smallest.position.place if smallest else "",
        largest_mm=plain(largest.at_20c_mm) if largest else "",
        largest_at=largest.position.place if largest else "",
        out_of_round_mm=found.out_of_round.text if found.out_of_round else "",
        out_of_round_at=found.out_of_round.at if found.out_of_round else "",
        taper_mm=found.taper.text if found.taper else "",
        taper_at=found.taper.at if found.taper else "",
        low_limit_mm=plain(low),
        high_limit_mm=plain(high) if high is not None else "",
        margin_to_low_mm=plain(EXACT.subtract(smallest.at_20c_mm, low)) if smallest else "",
        uncertainty_mm=plain(proof.size_mm) if proof.size_mm is not None else "",
        verdict=_verdict(size, form, is_complete),
        out_of_round_limit_mm=plain(limits.out_of_round.mm) if limits.out_of_round else "",
        taper_limit_mm=_taper_limit(limits, found),
        size_verdict=size,
        form_verdict=form,
        decision_rule=RULES_SAID[proof.rule],
        angles_used=";".join(map(str, found.angles)),
        remarks="; ".join((*found.remarks, *decided_by(taper, found))),
        form_uncertainty_mm=plain(proof.form_mm) if proof.form_mm is not None else "",
        standard_uncertainty_mm=f"{proof.standard_mm:.6f}" if guarded else "",
        uncorrected_error_mm=f"{proof.added_mm:.5f}" if guarded else "",
        coverage_factor=f"{proof.coverage_factor:.3f}" if guarded else "",
        effective_dof=f"{math.floor(10 * proof.dof) / 10:.1f}"
        if guarded and math.isfinite(proof.dof)
        else "",
        conformance_probability=probable,
        ovality_seen=_text(found.ovality_seen, 4),
        ellipse_mm=_text(found.ellipse_mm, 5),
        ellipse_deg="" if found.ellipse_deg is None else str(round(found.ellipse_deg) % 180),
        settled_by=settles,
    )


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


def _size_verdict(
    low: Decimal,
    high: Decimal | None,
    smallest: PartReading | None,
    largest: PartReading | None,
    proof: Certainty,
) -> str:
    if smallest is None or largest is None:
        return "incomplete"
    guard = proof.size_mm or Decimal(0)
    found = [
        decide_size(size, low, high, guard, proof.rule)
        for size in (smallest.at_20c_mm, largest.at_20c_mm)
    ]
    for answer, word in (
        ("outside-low", "below"),
        ("outside-high", "above"),
        ("undecided", "undecided"),
    ):
        if answer in found:
            return word
    return "within"


def _nearest(low: Decimal, high: Decimal | None, smallest: Decimal, largest: Decimal) -> Decimal:
    """How far the extreme sizes lie from the limits that they are too near to, in mm."""
    away = [EXACT.subtract(smallest, low).copy_abs()]
    if high is not None:
        away.append(EXACT.subtract(largest, high).copy_abs())
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
