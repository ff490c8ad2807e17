"""A plan that is being made, as the table of what was understood. Pure: from the draft to lines."""

import textwrap
from collections.abc import Iterator, Sequence
from typing import TypeAlias

from daq.lengths import parse_length
from daq.plan.drafting.asking import called, key_of
from daq.plan.drafting.draft import Draft, DraftGroup, DraftStep
from daq.plan.drafting.units import band_text, other_band_text, other_text
from drivers.printable import shown

_KEY, _STATED = 18, 30
"""Columns: what the line is called, and what was stated; the other unit stands behind."""

MOST_NAMES = 24

Row: TypeAlias = tuple[str, str, str]
"""What a line is called by, what was stated, and the same in the other unit."""

_DIFFER = "differ from one another, as they are"


def understood(draft: Draft, width: int) -> list[str]:
    """What was understood, line by line; the first column is what a line is called by. Where
    `width` columns do not hold both units, the other one stands below.
    """
    lines: list[str] = []
    for row in _rows(draft):
        lines += [""] if row is None else _laid_out(row, width)
    return lines


def _laid_out(row: Row, width: int) -> list[str]:
    key, stated, other = row
    line = f"{key.ljust(_KEY)} {stated.ljust(_STATED)}  {other}".rstrip()
    if len(line) <= width:
        return [line]
    room = max(width - _KEY - 2, 20)
    words = [*textwrap.wrap(stated, room), *textwrap.wrap(other, room)] or [""]
    return [f"{(key if not n else '').ljust(_KEY)} {one}" for n, one in enumerate(words)]


def _rows(draft: Draft) -> Iterator[Row | None]:
    """All rows, None for an empty line."""
    yield "part", shown(draft.part, 200), ""
    for group in draft.groups:
        yield None
        yield from _group(draft, group)
    yield None
    yield from _places(draft)


def _group(draft: Draft, group: DraftGroup) -> Iterator[Row]:
    names = _some(group.journals)
    yield group.name or "journals", f"{called(group)} {len(group.journals)}: {names}", ""
    yield from _limits(group)
    if group.cross_low is not None:
        yield key_of(group, "cross-check"), band_text(group.cross_low, group.cross_high), ""
    key = key_of(group, "undersizes")
    if not group.steps:
        yield key, "none", ""
    for step in group.steps:
        by = "" if _is_called_by(step) else f" ({step.by})"
        stated = f"{shown(step.name, 20)}{by}: {band_text(step.low, step.high)}"
        yield key, stated, other_band_text(step.low, step.high)
        key = ""
    yield from _form(group)
    if group.stack:
        yield key_of(group, "stack"), shown(group.stack, 80), _stack_other(group.stack)
    elif "blocks" in draft.asked:
        yield key_of(group, "stack"), "none: measure asks for it", ""


def _is_called_by(step: DraftStep) -> bool:
    """Its name is its number: `.010` is 0.010 in."""
    name = f"0{step.name}" if step.name.startswith(".") else step.name
    return name == str(step.by).partition(" ")[0]


def _limits(group: DraftGroup) -> Iterator[Row]:
    key = key_of(group, "limits")
    if "limits" in group.mixed:
        yield key, _DIFFER, ""
    elif group.low is not None:
        yield key, band_text(group.low, group.high), other_band_text(group.low, group.high)


def _form(group: DraftGroup) -> Iterator[Row]:
    key = key_of(group, "form")
    forms = [("out-of-round", group.out_of_round), ("taper", group.taper)]
    if group.out_of_round == group.taper:
        forms = [("out-of-round, taper", group.taper)]
    stated = [(word, limit) for word, limit in forms if limit is not None]
    if "form" in group.mixed:
        yield key, _DIFFER, ""
    elif not stated:
        yield key, "none", ""
    for word, limit in stated:
        yield key, f"{word} {limit}", other_text(limit)
        key = ""


def _stack_other(text: str) -> str:
    try:
        return other_text(parse_length(text))
    except ValueError:
        return ""


def _places(draft: Draft) -> Iterator[Row]:
    stations = _DIFFER if "stations" in draft.mixed else ", ".join(draft.stations)
    yield "stations", shown(stations, 400), ""
    angles = _DIFFER if "angles" in draft.mixed else " ".join(f"{a}°" for a in draft.angles_deg)
    yield "angles", angles, ""
    yield "strip", _some(draft.strip) if draft.strip else "none", ""
    if not draft.mixed:
        a_journal = len(draft.stations) * len(draft.angles_deg)
        total = a_journal * len(draft.journals)
        yield "", f"{a_journal} readings a journal, {total} in all", ""


def _some(names: Sequence[str]) -> str:
    """Names as people read them; of many the first and the last."""
    if len(names) > MOST_NAMES:
        return f"{shown(names[0])} to {shown(names[-1])}"
    return " ".join(shown(name) for name in names)
