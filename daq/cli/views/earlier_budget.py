"""The budgets of a session that rule set 1 or 2 closed, by the model of rule set 2. Pure."""

from collections.abc import Sequence

import msgspec

from daq.evaluation.earlier.diameter import Expanded, form_uncertainty, size_uncertainty
from daq.evaluation.earlier.inputs import diameter_inputs, is_shared
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


class EarlierBudget(msgspec.Struct, frozen=True):
    """One journal's budget in one stint."""

    journal: str
    stint: int
    of: str
    words: str
    found: Expanded
    left_out: tuple[str, ...]


def earlier_budgets(state: State, names: Sequence[str], *, is_form: bool) -> list[EarlierBudget]:
    """One for each named journal that has readings and each stint that they come from."""
    result = []
    for journal in state.plan.journals:
        readings = state.by_journal.get(journal.name)
        if journal.name not in names or readings is None:
            continue
        abouts = diameter_inputs(state, readings)
        parts, shared = sorted(readings.last_of_parts), is_shared(abouts)
        for (stint, _), about in zip(parts, abouts, strict=True):
            if is_form:
                found = form_uncertainty(about, is_one_stint=shared)
                left_out = LEFT_OUT_OF_FORM if shared else LEFT_OUT_OF_FORM[1:]
                of, words = "difference", "difference of two diameters"
            else:
                found, left_out = size_uncertainty(about), LEFT_OUT_OF_SIZE
                of, words = "diameter", "diameter at 20 °C"
            result.append(EarlierBudget(journal.name, stint, of, words, found, left_out))
    return result
