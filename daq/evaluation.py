"""Journals against their limits: sizes, form, verdict. Pure; the live view and the tables call the
same function.
"""

import math
from collections.abc import Callable
from decimal import Decimal

import msgspec

from daq.conformity import Rule, conformance_probability, decide_size, decide_upper
from daq.form import FormFound, form_of
from daq.plan import JournalPlan
from daq.readings import JournalReadings, Taken
from daq.results import JournalResult
from daq.terms import EXACT, Limits, plain

FORM_STEPS = 4
"""A form limit under so many resolution steps of the gauge cannot be judged with it."""


class Proof(msgspec.Struct, frozen=True):
    """How well one journal's diameters are known, and by which rule that decides.

    `size_mm` and `form_mm`: expanded uncertainty of a diameter and of a difference of two; None
    before anything was measured. `standard_mm`: standard uncertainty; `bias_mm`: mean error on the
    stack, which the sizes are not corrected for; `added_mm`: its amount in `size_mm`.
    """

    rule: Rule
    size_mm: Decimal | None = None
    form_mm: Decimal | None = None
    standard_mm: float = 0.0
    bias_mm: float = 0.0
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
    proof: Proof,
    resolution_mm: Decimal | None,
    settled_by: Callable[[Decimal], str] = lambda needed_mm: "",
) -> JournalResult:
    """Judge one journal.

    `readings`: those that stand, None if there are none. `resolution_mm`: the coarsest among them.
    `settled_by` says what would bring the expanded uncertainty of a size down to so many mm.
    """
    limits = journal.limits
    planned = len(journal.stations) * len(journal.angles_deg) * journal.repeats
    taken = readings.taken if readings else ()
    smallest = readings.smallest if readings else None
    largest = readings.largest if readings else None
    found = readings.form if readings else form_of((), journal)
    is_complete = len(taken) == planned
    low, high = limits.low.mm, limits.high.mm if limits.high else None
    size = _size_verdict(low, high, smallest, largest, proof)
    settles = ""
    if size == "undecided" and smallest is not None and largest is not None:
        settles = settled_by(_nearest(low, high, smallest.at_20c_mm, largest.at_20c_mm))
    if size in ("within", "undecided") and not is_complete:
        size = "incomplete"
    form = _form_verdict(limits, found, proof, resolution_mm)
    guarded = proof.size_mm is not None
    probable = _probability(low, high, smallest, largest, proof) if is_complete else ""
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
        taper_limit_mm=plain(found.steepest[1]) if found.steepest else _stated(limits),
        size_verdict=size,
        form_verdict=form,
        decision_rule=RULES_SAID[proof.rule],
        angles_used=";".join(map(str, found.angles)),
        remarks="; ".join(found.remarks),
        form_uncertainty_mm=plain(proof.form_mm) if proof.form_mm is not None else "",
        standard_uncertainty_mm=f"{proof.standard_mm:.6f}" if guarded else "",
        uncorrected_error_mm=f"{proof.added_mm:.5f}" if guarded else "",
        coverage_factor=f"{proof.coverage_factor:.3f}" if guarded else "",
        effective_dof=f"{proof.dof:.1f}" if guarded and math.isfinite(proof.dof) else "",
        conformance_probability=probable,
        ovality_seen=_text(found.ovality_seen, 4),
        ellipse_mm=_text(found.ellipse_mm, 5),
        ellipse_deg=_text(found.ellipse_deg, 0),
        settled_by=settles,
    )


def _stated(limits: Limits) -> str:
    """The taper limit where no taper was measured: one per length has no amount then."""
    taper = limits.taper
    return "" if taper is None or limits.taper_per is not None else plain(taper.mm)


def _text(value: float | None, places: int) -> str:
    return "" if value is None else f"{value:.{places}f}"


def _size_verdict(
    low: Decimal,
    high: Decimal | None,
    smallest: Taken | None,
    largest: Taken | None,
    proof: Proof,
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
    low: Decimal,
    high: Decimal | None,
    smallest: Taken | None,
    largest: Taken | None,
    proof: Proof,
) -> str:
    """That the true size keeps its limits, at the smallest and at the largest: the lesser one."""
    if smallest is None or largest is None or proof.size_mm is None:
        return ""
    bias = Decimal(repr(proof.bias_mm))
    least = min(
        conformance_probability(EXACT.subtract(size, bias), proof.standard_mm, low, high)
        for size in (smallest.at_20c_mm, largest.at_20c_mm)
    )
    return f"{least:.5f}"


def _form_verdict(
    limits: Limits, found: FormFound, proof: Proof, resolution_mm: Decimal | None
) -> str:
    answers = []
    guard = proof.form_mm or Decimal(0)
    pairs = []
    if limits.out_of_round is not None:
        pairs.append((found.out_of_round, limits.out_of_round.mm))
    if limits.taper is not None:
        pairs.append(found.steepest or (None, limits.taper.mm))
    for form, limit_mm in pairs:
        if form is None:
            answers.append("not-enough-positions")
        elif resolution_mm is not None and limit_mm < EXACT.multiply(
            resolution_mm, Decimal(FORM_STEPS)
        ):
            answers.append("undecided")
        else:
            answers.append(
                decide_upper(
                    form.value,
                    limit_mm,
                    guard,
                    proof.rule,
                    equal_allowed=limits.is_form_equal_allowed,
                )
            )
    for answer in ("over", "undecided", "not-enough-positions", "within"):
        if answer in answers:
            return answer
    return "no-limit"


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
