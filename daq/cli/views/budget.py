"""The uncertainty budgets of a session's journals, as text and as a document. Pure."""

import math
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

import msgspec

from daq.board.shown_lengths import shown_limit, shown_size
from daq.cli.views.budget_lead import lead_lines, place_words
from daq.cli.views.earlier_budget import earlier_budgets
from daq.evaluation.conditions import GUARD_STEP_MM
from daq.evaluation.inputs import known, places_of
from daq.evaluation.journal_form import form_budget, form_of_places
from daq.evaluation.journals import as_read
from daq.evaluation.places import Place
from daq.evaluation.size import Sized, SizeRule, judge_size
from daq.lengths import mean_text, plain
from daq.metrology.gauge_check import signed_text
from daq.metrology.uncertainty.budget import Budget, rounded_up
from daq.metrology.uncertainty.table import text
from daq.plan.plan import DecisionPlan, JournalPlan
from daq.record.rule_sets import RULE_SET_3
from daq.record.state import State

LEFT_OUT_OF_SIZE: tuple[str, ...] = (
    "a gauge that moved and came back between two checks: no check can see it",
    "anvils that do not lie square, force, dirt and oil: clean, and use the ratchet",
    "what another operator would read (reproducibility): a gauge study shows it",
    "products of two uncertainties other than those listed, which are smaller still",
)
SCREW_UNKNOWN = (
    "the screw's error between stack and journal: no gauge file states the permitted error"
)
LEFT_OUT_OF_FORM: tuple[str, ...] = (
    "stack, error on the stack and temperatures: both readings share them",
    "the largest of several noisy differences comes out too large on average: nothing is taken off",
)


class JournalBudget(msgspec.Struct, frozen=True):
    """One budget of a journal. `of`: "diameter", "out-of-round" or "taper"; `head` says of which
    place and how its estimate came about, `lead` what a machinist needs of it, `left_out` what is
    not in it.
    """

    journal: str
    stint: int
    of: str
    head: tuple[str, ...]
    budget: Budget
    guard_mm: Decimal
    added_mm: float = 0.0
    left_out: tuple[str, ...] = ()
    place: str = ""
    read_mm: str = ""
    estimate_mm: str = ""
    is_provisional: bool = False
    lead: tuple[str, ...] = ()


def budgets(state: State, names: Sequence[str], *, is_form: bool) -> list[JournalBudget]:
    """Those of each named journal that has readings: of the size the place that decides, of the
    form each value. A session that an earlier rule set closed has that one's model.
    """
    if state.rules < RULE_SET_3:
        return [
            JournalBudget(
                one.journal,
                one.stint,
                one.of,
                (f"{one.journal}: {one.words}",),
                one.found.budget,
                one.found.guard_mm,
                one.found.added_mm,
                one.left_out,
                lead=lead_lines(
                    _stored(state, one.journal),
                    one.found.guard_mm,
                    one.found.budget,
                ),
            )
            for one in earlier_budgets(state, names, is_form=is_form)
        ]
    about = known(state)
    result = []
    for journal in state.plan.journals:
        readings = state.by_journal.get(journal.name)
        if journal.name not in names or readings is None:
            continue
        found = places_of(state, readings, about)
        result.extend(
            _of_form(state, journal, found) if is_form else [_of_size(state, journal, found)]
        )
    return result


def _stored(state: State, name: str) -> str:
    """The smallest size as an earlier version stored it."""
    results = state.closed.journals if state.closed else ()
    found = next((result for result in results if result.journal == name), None)
    if found is None or not found.smallest_mm:
        return f"{name} has no size."
    at = place_words(found.smallest_at)
    return f"{name} is {found.smallest_mm} mm at its smallest place ({at})."


def _of_size(state: State, journal: JournalPlan, found: Sequence[Place]) -> JournalBudget:
    decision = state.plan.decision
    by = SizeRule(decision.rule, decision.confidence, journal.is_ground)
    judged = judge_size(found, journal.limits, by)
    one = judged.decisive
    place = one.place
    unknown = () if place.about.permitted_error_mm is not None else (SCREW_UNKNOWN,)
    return JournalBudget(
        journal=journal.name,
        stint=place.about.stint,
        of="diameter",
        head=(
            f"{journal.name} {place.at}: diameter at 20 °C{_provisional(place)}",
            _estimated(one),
            _rule(decision),
        ),
        budget=one.budget,
        guard_mm=one.guard_mm,
        left_out=(*unknown, *LEFT_OUT_OF_SIZE),
        place=place.at,
        read_mm=as_read(place),
        estimate_mm=mean_text(place.y_mm),
        is_provisional=place.about.is_provisional,
        lead=lead_lines(
            f"{journal.name} is {_shown(journal, one)} mm at its "
            f"{'largest' if one is judged.largest else 'smallest'} place "
            f"({place_words(place.at)}).",
            one.guard_mm,
            one.budget,
            is_provisional=place.about.is_provisional,
        ),
    )


def _shown(journal: JournalPlan, one: Sized) -> str:
    """The estimate for reading, on the true side of its limits."""
    limits = [shown_limit(journal.limits.low, "mm", is_low=True)]
    if journal.limits.high is not None:
        limits.append(shown_limit(journal.limits.high, "mm", is_low=False))
    return plain(shown_size(one.y_mm, "mm", limits))


def _rule(decision: DecisionPlan) -> str:
    """The rule of decision without the words of a standard."""
    if decision.rule == "simple":
        return "the limits alone decide"
    return f"a limit counts as kept or passed at {decision.confidence:g} confidence (ISO 14253-1)"


def _provisional(place: Place) -> str:
    return " (provisional: no closing check yet)" if place.about.is_provisional else ""


def _estimated(one: Sized) -> str:
    """How the estimate came about."""
    place = one.place
    error = place.about.checks.error_mm
    warm = "" if place.about.ratio == 1 else ", then brought to 20 °C"
    read = "read" if place.count == 1 else f"mean of {place.count} read"
    return (
        f"{read} {as_read(place)} mm, the gauge was off by {signed_text(error)} mm on "
        f"the stack, which is taken off{warm}: {mean_text(place.y_mm)} mm"
    )


def _of_form(state: State, journal: JournalPlan, found: Sequence[Place]) -> list[JournalBudget]:
    confidence = state.plan.decision.confidence
    form = form_of_places(found, journal.taper_limit, confidence)
    how = "by one oval through all places" if form.by == "fit" else "by the range of places"
    result = []
    for of, value in (("out-of-round", form.out_of_round), ("taper", form.taper)):
        if value is None:
            continue
        budget = form_budget(value, confidence)
        shared = (
            LEFT_OUT_OF_FORM if len({p.about.stint for p in found}) == 1 else (LEFT_OUT_OF_FORM[1:])
        )
        at = f" at {value.at}" if value.at else ""
        result.append(
            JournalBudget(
                journal=journal.name,
                stint=found[-1].about.stint,
                of=of,
                head=(f"{journal.name}: {of} {mean_text(value.value_mm)} mm{at}, {how}",),
                budget=budget,
                guard_mm=rounded_up(budget.expanded, GUARD_STEP_MM),
                left_out=shared,
                place=value.at,
                estimate_mm=mean_text(value.value_mm),
                is_provisional=any(p.about.is_provisional for p in found),
                lead=lead_lines(
                    f"{journal.name} has {plain(_form_shown(value.value_mm))} mm of {of}.",
                    rounded_up(budget.expanded, GUARD_STEP_MM),
                    budget,
                    is_provisional=any(p.about.is_provisional for p in found),
                ),
            )
        )
    return result


def _form_shown(value_mm: Fraction) -> Decimal:
    return shown_size(value_mm, "mm")


def lines(budget: JournalBudget) -> list[str]:
    """What a machinist needs of it, then a headline and the table."""
    return [
        *budget.lead,
        "",
        *budget.head,
        "",
        text(budget.budget, GUARD_STEP_MM, added_mm=budget.added_mm, left_out=budget.left_out),
        "",
    ]


def document(budget: JournalBudget) -> dict[str, Any]:
    """The same for programs; standard uncertainties are binary numbers, lengths of guards text."""
    found = budget.budget
    return {
        "journal": budget.journal,
        "stint": budget.stint,
        "of": budget.of,
        "at": budget.place,
        "read_mm": budget.read_mm,
        "estimate_mm": budget.estimate_mm,
        "provisional": budget.is_provisional,
        "components": [
            {
                "quantity": part.name,
                "estimate": part.estimate,
                "standard_uncertainty": part.u,
                "unit": part.unit,
                "kind": part.kind,
                "distribution": part.distribution,
                "degrees_of_freedom": part.dof if math.isfinite(part.dof) else None,
                "sensitivity_mm": part.sensitivity,
                "contribution_mm": part.contribution_mm,
                "share": found.share(part),
                "note": part.note,
            }
            for part in found.components
        ],
        "combined_mm": found.combined,
        "effective_degrees_of_freedom": (
            found.effective_dof if math.isfinite(found.effective_dof) else None
        ),
        "coverage_probability": found.coverage,
        "is_one_sided": found.is_one_sided,
        "coverage_factor": found.k,
        "uncorrected_error_mm": budget.added_mm,
        "expanded_mm": plain(budget.guard_mm),
    }
