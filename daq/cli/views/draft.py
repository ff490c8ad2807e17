"""A plan that is being made, as the table of what was understood. Pure: from the draft to lines."""

import textwrap
from collections.abc import Iterator

from daq.lengths import parse_length
from daq.plan.drafting.asking import called, key_of
from daq.plan.drafting.draft import Draft, DraftGroup, DraftStep
from daq.plan.drafting.units import band_text, other_band_text, other_text
from drivers.printable import shown

_KEY, _STATED = 18, 30
"""Columns: what the line is called, and what was stated; the other unit stands behind."""

_DIFFER = "differ from one another, as they are"


def understood(draft: Draft, width: int) -> list[str]:
    """What was understood, line by line; the first column is what a line is called by."""
    lines = [*_wrapped("part", shown(draft.part, 200), width)]
    for group in draft.groups:
        lines += ["", *_group(draft, group, width)]
    return [*lines, "", *_places(draft, width)]


def _group(draft: Draft, group: DraftGroup, width: int) -> Iterator[str]:
    count = len(group.journals)
    names = _some(list(group.journals))
    yield from _wrapped(group.name or "journals", f"{called(group)} {count}: {names}", width)
    yield from _limits(group)
    if group.cross_low is not None:
        yield _row(key_of(group, "cross-check"), band_text(group.cross_low, group.cross_high), "")
    key = key_of(group, "undersizes")
    if not group.steps:
        yield _row(key, "none", "")
    for step in group.steps:
        by = "" if _is_called_by(step) else f" ({step.by})"
        stated = f"{shown(step.name, 20)}{by}: {band_text(step.low, step.high)}"
        yield _row(key, stated, other_band_text(step.low, step.high))
        key = ""
    if "form" in group.mixed:
        yield _row(key_of(group, "form"), _DIFFER, "")
    else:
        yield from _form(group)
    if group.stack:
        yield _row(key_of(group, "stack"), shown(group.stack, 80), _stack_other(group.stack))
    elif "blocks" in draft.asked:
        yield _row(key_of(group, "stack"), "none: measure asks for it", "")


def _is_called_by(step: DraftStep) -> bool:
    """Its name is its number: `.010` is 0.010 in."""
    name = f"0{step.name}" if step.name.startswith(".") else step.name
    return name == str(step.by).partition(" ")[0]


def _limits(group: DraftGroup) -> Iterator[str]:
    key = key_of(group, "limits")
    if "limits" in group.mixed:
        yield _row(key, _DIFFER, "")
    elif group.low is not None:
        yield _row(key, band_text(group.low, group.high), other_band_text(group.low, group.high))


def _form(group: DraftGroup) -> Iterator[str]:
    key = key_of(group, "form")
    forms = [("out-of-round", group.out_of_round), ("taper", group.taper)]
    if group.out_of_round == group.taper:
        forms = [("out-of-round, taper", group.taper)]
    stated = [(word, limit) for word, limit in forms if limit is not None]
    if not stated:
        yield _row(key, "none", "")
    for word, limit in stated:
        yield _row(key, f"{word} {limit}", other_text(limit))
        key = ""


def _stack_other(text: str) -> str:

    try:
        return other_text(parse_length(text))
    except ValueError:
        return ""


def _places(draft: Draft, width: int) -> Iterator[str]:
    stations = _DIFFER if "stations" in draft.mixed else ", ".join(draft.stations)
    yield from _wrapped("stations", shown(stations, 400), width)
    angles = _DIFFER if "angles" in draft.mixed else " ".join(f"{a}°" for a in draft.angles_deg)
    yield from _wrapped("angles", angles, width)
    yield from _wrapped("strip", _some(list(draft.strip)) if draft.strip else "none", width)
    if not draft.mixed:
        a_journal = len(draft.stations) * len(draft.angles_deg)
        total = a_journal * len(draft.journals)
        yield from _wrapped("", f"{a_journal} readings a journal, {total} in all", width)


def _some(names: list[str]) -> str:
    """Names as people read them; of many the first and the last."""
    if len(names) > 24:
        return f"{shown(names[0], 80)} to {shown(names[-1], 80)}"
    return " ".join(shown(name, 80) for name in names)


def _row(key: str, stated: str, other: str) -> str:
    return f"{key.ljust(_KEY)} {stated.ljust(_STATED)}  {other}".rstrip()


def _wrapped(key: str, words: str, width: int) -> list[str]:
    room = max(width - _KEY - 2, 20)
    lines = textwrap.wrap(words, room) or [""]
    return [f"{(key if not n else '').ljust(_KEY)} {line}" for n, line in enumerate(lines)]
