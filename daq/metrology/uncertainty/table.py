"""A budget as text that a person can follow line by line. Pure."""

import math
import textwrap
from collections.abc import Sequence
from decimal import Decimal

from daq.lengths import plain
from daq.metrology.uncertainty.budget import Budget, rounded_up
from daq.metrology.uncertainty.components import Component

HEADINGS = (
    "quantity",
    "estimate",
    "u",
    "distribution",
    "dof",
    "sensitivity",
    "= um",
    "%",
)
"""One per cell of a row: so much of the result in um, and its share of the variance."""

_LEFT = 2  # these first columns are words, the others numbers that line up to the right
_GAP = "  "
WIDTH = 100
"""Notes are wrapped to it."""

_UM_PER_MM = 1000


def rows(budget: Budget) -> tuple[tuple[str, ...], ...]:
    """One row of cells for each component in its order, as HEADINGS name them."""
    return tuple(_row(budget, component) for component in budget.components)


def _row(budget: Budget, component: Component) -> tuple[str, ...]:
    return (
        component.name,
        component.estimate,
        _standard(component),
        f"{component.kind} {component.distribution}",
        _dof(component.dof),
        f"{_number(component.sensitivity)} {_sensitivity_unit(component.unit)}".strip(),
        f"{component.contribution_mm * 1000:.3f}",
        f"{100 * budget.share(component):.1f}",
    )


def _standard(component: Component) -> str:
    """Its standard uncertainty; of a length in um."""
    if component.unit == "mm":
        return f"{_number(component.u * _UM_PER_MM)} um"
    return f"{_number(component.u)} {component.unit}".strip()


def _sensitivity_unit(unit: str) -> str:
    """Of mm per `unit`."""
    if unit == "mm":
        return ""
    if unit.startswith("/"):
        return f"mm {unit[1:]}"
    return f"mm/{unit}" if unit else "mm"


def _number(value: float) -> str:
    return f"{value:.3g}"


def _dof(dof: float) -> str:
    """Cut down to a tenth, as a rounded one could seem to be a whole one more."""
    if not math.isfinite(dof):
        return "inf"
    return f"{math.floor(dof * 10 * (1 + 1e-9)) / 10:.1f}".removesuffix(".0")


def foot(
    budget: Budget,
    step_mm: Decimal,
    *,
    added_mm: float = 0.0,
    left_out: Sequence[str] = (),
) -> tuple[str, ...]:
    """The lines under the table: u_c, degrees of freedom, k, U and what is not in it.

    `added_mm`: an error left uncorrected whose amount is added to k u_c. U is rounded up to
    `step_mm`; u_c and k are shown, not rounded before they are multiplied.
    """
    total = plain(rounded_up(budget.expanded + added_mm, step_mm))
    added = f" + {added_mm * 1000:.3f} um for an error not corrected" if added_mm else ""
    lines = [
        f"u_c = {budget.combined * 1000:.3f} um, combined standard uncertainty",
        f"degrees of freedom = {_effective(budget)} (Welch-Satterthwaite)",
        f"k = {budget.k:.3f} for {_probability(budget)}",
        f"U = k u_c{added} = {total} mm, rounded up to {plain(step_mm)} mm",
    ]
    lines += [f"not in it: {what}" for what in left_out]
    return tuple(lines)


def _probability(budget: Budget) -> str:
    if budget.is_one_sided:
        return f"a confidence of {100 * budget.coverage:g} %, against one limit"
    return f"a coverage probability of {100 * budget.coverage:.2f} %"


def _effective(budget: Budget) -> str:
    if not math.isfinite(budget.dof):
        return "infinite"
    return f"{_dof(budget.effective_dof)}, taken as {budget.dof:.0f}"


def notes(budget: Budget) -> tuple[str, ...]:
    """Where each component comes from, one line each, those without a note left out."""
    return tuple(f"{part.name}: {part.note}" for part in budget.components if part.note)


def text(
    budget: Budget,
    step_mm: Decimal,
    *,
    added_mm: float = 0.0,
    left_out: Sequence[str] = (),
) -> str:
    """The whole budget in columns of plain text: rows, foot, notes."""
    lines = [HEADINGS, *rows(budget)]
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    shown = [_line(cells, widths) for cells in lines]
    below = foot(budget, step_mm, added_mm=added_mm, left_out=left_out)
    said = [
        line
        for note in notes(budget)
        for line in textwrap.wrap(note, WIDTH, subsequent_indent="  ")
    ]
    return "\n".join([*shown, "", *below, "", *said]).rstrip() + "\n"


def _line(cells: Sequence[str], widths: Sequence[int]) -> str:
    placed = [
        cell.ljust(width) if n < _LEFT else cell.rjust(width)
        for n, (cell, width) in enumerate(zip(cells, widths, strict=True))
    ]
    return _GAP.join(placed).rstrip()


__all__ = ["HEADINGS", "foot", "notes", "rows", "text"]
