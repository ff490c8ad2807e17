"""What was taken off a session's sizes for the gauge's error on the stack, in words. Pure."""

from collections.abc import Iterable
from decimal import Decimal

from daq.evaluation.conditions import Checks
from daq.evaluation.inputs import SessionFacts, known
from daq.lengths import EXACT
from daq.metrology.gauge_check import signed_text
from daq.record.state import State

FAR_MM = Decimal("0.05")
"""A journal further from its stack than this is said to be measured on another part of the screw.
Chosen by us: a tenth of a turn."""


def error_words(state: State, about: SessionFacts | None = None) -> list[str]:
    """How far the gauge was off on the stack, for each stint that readings stand from."""
    facts = about or known(state)
    found: dict[int, dict[int, Checks]] = {}
    for taken in state.standing.values():
        found.setdefault(taken.stint, {})[facts.bracket(taken)] = facts.checks_around(taken)
    return [_words(stint, checks.values()) for stint, checks in sorted(found.items())]


def _words(stint: int, checks: Iterable[Checks]) -> str:
    errors = [each.error_mm for each in checks]
    least, most = min(errors), max(errors)
    if least == most == 0:
        return f"stint {stint}: the gauge read the stack right, nothing was taken off"
    shown = signed_text(least) if least == most else f"{signed_text(least)} to {signed_text(most)}"
    return f"stint {stint}: the gauge was off by {shown} mm on the stack, which is taken off"


def screw_notes(state: State) -> list[str]:
    """Where the screw's error between stack and journal is not known: no gauge file states the
    gauge's permitted error, and a low limit lies further than FAR_MM from its stack.
    """
    gauge = state.gauge
    if gauge is not None and gauge.permitted_error is not None:
        return []
    scope = state.scope
    far = [
        journal.name
        for journal in scope.journals.values()
        if EXACT.subtract(
            scope.sizes[scope.stacks[journal.name]].mm, journal.limits.low.mm
        ).copy_abs()
        > FAR_MM
    ]
    if not far:
        return []
    return [
        f"{', '.join(far[:12])}: the stack is more than 0.05 mm from the size to be measured, and "
        "no gauge file states the gauge's permitted error, so what the screw adds is not counted: "
        "keep the stack close, or state permitted_error"
    ]
