"""Stacks as people read them and as rows for programs; nothing is printed here."""

import math
import textwrap
from collections.abc import Sequence
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from typing import Any

from daq.equipment.stacks.making import NoStack, away_um, exact_um
from daq.equipment.stacks.stack import Stack, sum_limit_um
from daq.equipment.stacks.stack_file import trimmed
from daq.lengths import plain

COVERAGE = 2
"""k of the expanded uncertainty that is shown here: nothing in it has few degrees of freedom."""

_GRADES = {"mm": ("0", "1", "2"), "in": ("0", "AS-1", "AS-2")}
WIDTH = 96


def blocks_text(stack: Stack) -> str:
    """The blocks as a sum in the order of wringing, like "[2] + 1.002 + 1.48 + 50 + [2] mm";
    brackets are protectors.
    """
    words = []
    for one in stack.blocks:
        word = plain(one.nominal.value) + (f" #{one.mark}" if one.mark else "")
        words.append(f"[{word}]" if one.is_protector else word)
    units = {one.nominal.unit for one in stack.blocks}
    if len(units) > 1:
        words = [f"{word} {b.nominal.unit}" for word, b in zip(words, stack.blocks, strict=True)]
        return " + ".join(words)
    return f"{' + '.join(words)} {units.pop()}"


def stack_text(stack: Stack, on: date) -> str:
    """One stack: what to wring, what size that is and how well it is known."""
    lines = [_head(stack)]
    for line in (_size_words(stack), _limit_words(stack), _uncertainty_words(stack, on)):
        lines += textwrap.wrap(line, WIDTH, initial_indent="  ", subsequent_indent="    ")
    return "\n".join(lines)


def short_text(stack: Stack, on: date) -> str:
    """One stack in a line: what to wring and its expanded uncertainty."""
    return f"{_head(stack)}, U = {small(expanded_um(stack, on), _unit(stack))}"


def _head(stack: Stack) -> str:
    count = len(stack.blocks)
    joints = f"{stack.joints} joint{'s' if stack.joints != 1 else ''}"
    protected = ", [ ] protectors" if any(one.is_protector for one in stack.blocks) else ""
    words = f"{count} block{'s' if count != 1 else ''}, {joints}{protected}"
    return f"{blocks_text(stack)}   {words}"


def _unit(stack: Stack) -> str:
    return "in" if all(one.nominal.unit == "in" for one in stack.blocks) else "mm"


def small(um: Decimal, unit: str) -> str:
    """A small length for people: in um, for inch blocks in microinches too."""
    if unit != "in":
        return f"{plain(trimmed(um))} µm"
    shown = (um / Decimal("0.0254")).quantize(Decimal("0.1"), ROUND_HALF_EVEN)
    um_shown = um.quantize(Decimal("0.001"), ROUND_HALF_EVEN)
    return f"{plain(trimmed(shown))} µin ({plain(trimmed(um_shown))} µm)"


def none_text(none: NoStack, on: date) -> str:
    """Why there is no stack of a size, and the nearest ones with how far off they are."""
    lines = [f"There is no stack of {none.size}: {none.why}."]
    if not none.nearest:
        lines.append("No size near it was found either.")
    for stack in none.nearest:
        off = away_um(none.size, stack.nominal)
        side = "over" if off > 0 else "under"
        lines.append(f"Nearest {side} it: {stack.nominal}, {um_text(abs(off))} µm {side}:")
        lines.append(textwrap.indent(stack_text(stack, on), "  "))
    return "\n".join(lines)


def _size_words(stack: Stack) -> str:
    if not any(one.is_certified for one in stack.blocks):
        return f"size {stack.size} as engraved: no certified deviation is known"
    each = " ".join(
        f"{trimmed(one.deviation_um):+f}" if one.deviation_um is not None else "(none)"
        for one in stack.blocks
    )
    total = f"{trimmed(stack.deviation_um):+f} µm"
    return f"size {stack.size}: {stack.nominal} and certified deviations {each} = {total}"


def _limit_words(stack: Stack) -> str:
    unit = _unit(stack)
    if stack.limit_um is not None:
        return f"limit of error, all blocks of grade {stack.grade}: ±{small(stack.limit_um, unit)}"
    each = ", ".join(f"{grade} ±{small(um, unit)}" for grade, um in grade_limits(stack).items())
    return f"limit of error by grade: {each}; say which with --grade"


def grade_limits(stack: Stack) -> dict[str, Decimal]:
    """The limit of the whole stack in um for each grade that its blocks may have."""
    return {grade: trimmed(sum_limit_um(grade, stack.blocks)) for grade in _GRADES[_unit(stack)]}


def _uncertainty_words(stack: Stack, on: date) -> str:
    known = stack.standard_uncertainty_mm(on)
    wringing = f"wringing {stack.wringing_u_mm * 1000:.3f} µm" if stack.joints else "no joint"
    return (
        f"uncertainty U = {small(expanded_um(stack, on), _unit(stack))}, k = {COVERAGE} (standard "
        f"uncertainty: blocks {known.u_mm * 1000:.3f} µm, {wringing}); {known.words}"
    )


def expanded_um(stack: Stack, on: date) -> Decimal:
    """Expanded uncertainty of blocks and joints together in um, rounded up to 0.01 um."""
    u_um = math.hypot(stack.standard_uncertainty_mm(on).u_mm, stack.wringing_u_mm) * 1000
    return Decimal(math.ceil(COVERAGE * u_um * 100)).scaleb(-2)


def um_text(um: Fraction) -> str:
    """A distance in um, exactly where three decimals do, else to so many."""
    shown = Decimal(round(um * 1000)).scaleb(-3)
    exact = "" if Fraction(shown) == um else "about "
    return exact + plain(trimmed(shown))


def stack_row(stack: Stack, on: date) -> dict[str, Any]:
    """One stack for programs; lengths are decimal text."""
    known = stack.standard_uncertainty_mm(on)
    is_certified = any(one.is_certified for one in stack.blocks)
    return {
        "nominal": str(stack.nominal),
        "size": str(stack.size),
        "size_mm": plain(trimmed(stack.size.mm)),
        "blocks": [
            {
                "nominal": str(one.nominal),
                "mark": one.mark or None,
                "protector": one.is_protector,
                "deviation_um": None if one.deviation_um is None else plain(one.deviation_um),
            }
            for one in stack.blocks
        ],
        "joints": stack.joints,
        "deviation_um": plain(stack.deviation_um) if is_certified else None,
        "grade": stack.grade or None,
        "limit_um": None if stack.limit_um is None else plain(trimmed(stack.limit_um)),
        "limits_by_grade_um": {grade: plain(um) for grade, um in grade_limits(stack).items()},
        "uncertainty": {
            "blocks_um": known.u_mm * 1000,
            "wringing_um": stack.wringing_u_mm * 1000,
            "expanded_um": plain(expanded_um(stack, on)),
            "k": COVERAGE,
            "basis": known.basis,
            "words": known.words,
        },
    }


def none_row(none: NoStack, on: date) -> dict[str, Any]:
    """A size without a stack, for programs."""
    return {
        "why": none.why,
        "nearest": [
            {"away_um": exact_um(away_um(none.size, stack.nominal)), **stack_row(stack, on)}
            for stack in none.nearest
        ],
    }


def columns(rows: Sequence[Sequence[str]]) -> str:
    """Rows of text in columns, the last one ragged."""
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    )
