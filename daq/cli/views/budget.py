"""The uncertainty budgets of a session's journals, as text and as a document. Pure."""

import math
from collections.abc import Sequence
from typing import Any

import msgspec

from daq.evaluation.earlier.diameter import (
    GUARD_STEP_MM,
    Expanded,
    form_uncertainty,
    size_uncertainty,
)
from daq.evaluation.earlier.inputs import diameter_inputs, is_shared
from daq.lengths import plain
from daq.metrology.uncertainty.table import text
from daq.record.state import State

LEFT_OUT_OF_SIZE: tuple[str, ...] = (
    "the screw's error between the stack's size and the journal's: keep the stack close",
    "anvils that do not lie square, force, dirt and oil: clean, and use the ratchet",
    "what another operator would read (reproducibility): a gauge study shows it",
    "products of two uncertainties other than those listed, which are smaller still",
)
LEFT_OUT_OF_FORM: tuple[str, ...] = (
    "stack, error on the stack and temperatures: both readings share them",
    "the largest of several noisy differences comes out too large on average: nothing is taken off",
)


class JournalBudget(msgspec.Struct, frozen=True):
    """One journal's budget in one stint."""

    journal: str
    stint: int
    is_form: bool
    is_shared: bool
    found: Expanded


def budgets(state: State, names: Sequence[str], *, is_form: bool) -> list[JournalBudget]:
    """One for each named journal that has readings and each stint that they come from."""
    result = []
    for journal in state.plan.journals:
        readings = state.by_journal.get(journal.name)
        if journal.name not in names or readings is None:
            continue
        abouts = diameter_inputs(state, readings)
        parts = sorted(readings.last_of_parts)
        for (stint, _), about in zip(parts, abouts, strict=True):
            found = (
                form_uncertainty(about, is_one_stint=is_shared(abouts))
                if is_form
                else size_uncertainty(about)
            )
            shared = is_shared(abouts)
            result.append(JournalBudget(journal.name, stint, is_form, shared, found))
    return result


def lines(budget: JournalBudget) -> list[str]:
    """A headline and the table."""
    what = "difference of two diameters" if budget.is_form else "diameter at 20 °C"
    left_out = LEFT_OUT_OF_SIZE
    if budget.is_form:
        left_out = LEFT_OUT_OF_FORM if budget.is_shared else LEFT_OUT_OF_FORM[1:]
    return [
        f"{budget.journal}, stint {budget.stint}: {what}",
        "",
        text(
            budget.found.budget,
            GUARD_STEP_MM,
            added_mm=budget.found.added_mm,
            left_out=left_out,
        ),
        "",
    ]


def document(budget: JournalBudget) -> dict[str, Any]:
    """The same for programs; standard uncertainties are binary numbers, lengths of guards text."""
    found = budget.found.budget
    return {
        "journal": budget.journal,
        "stint": budget.stint,
        "of": "difference" if budget.is_form else "diameter",
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
        "coverage_factor": found.k,
        "uncorrected_error_mm": budget.found.added_mm,
        "expanded_mm": plain(budget.found.guard_mm),
    }
