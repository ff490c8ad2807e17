"""A journal of a session that rule set 1 or 2 closed, by the readings that stand. Pure."""

from collections.abc import Sequence
from decimal import Decimal

from daq.evaluation.earlier.diameter import DiameterInputs, form_uncertainty, size_uncertainty
from daq.evaluation.earlier.inputs import EarlierFacts, diameter_inputs, is_shared, known
from daq.evaluation.earlier.journals import Certainty, evaluate
from daq.evaluation.earlier.remedies import form_settled_by, settled_by
from daq.plan.plan import JournalPlan
from daq.record.results import JournalResult
from daq.record.standing import JournalReadings
from daq.record.state import State


def judge_journal(
    state: State, journal: JournalPlan, about: EarlierFacts | None = None
) -> JournalResult:
    """One journal by the readings that stand; `about` is `known(state)`, if it is at hand."""
    readings = state.by_journal.get(journal.name)
    if readings is None:
        return evaluate(journal, None, Certainty(state.plan.decision.rule), None)
    about = about or known(state)
    abouts = diameter_inputs(state, readings, about)
    worst, is_one = max(abouts, key=_guard), is_shared(abouts)
    return evaluate(
        journal,
        readings,
        proof(state, readings, abouts),
        max(about.step_mm for about in abouts),
        lambda needed_mm: settled_by(worst, needed_mm),
        lambda needed_mm: form_settled_by(worst, needed_mm, is_one_stint=is_one),
    )


def proof(state: State, readings: JournalReadings, abouts: Sequence[DiameterInputs]) -> Certainty:
    """How well one journal's diameters are known: by the worst of the stints they come from."""
    worst = max(abouts, key=_guard)
    size = size_uncertainty(worst)
    form = form_uncertainty(worst, is_one_stint=is_shared(abouts))
    parts = sorted(readings.last_of_parts)
    return Certainty(
        rule=state.plan.decision.rule,
        size_mm=size.guard_mm,
        form_mm=form.guard_mm,
        standard_mm=size.budget.combined,
        parts={
            part: (size_uncertainty(about).budget.combined, about.bias_mm)
            for part, about in zip(parts, abouts, strict=True)
        },
        added_mm=size.added_mm,
        coverage_factor=size.budget.k,
        dof=size.budget.effective_dof,
    )


def _guard(about: DiameterInputs) -> Decimal:
    return size_uncertainty(about).guard_mm


__all__ = ["judge_journal", "known", "proof"]
