"""A draft of a new plan as the table of its file: as short as it can be. Pure."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, TypeAlias

from daq.lengths import Length
from daq.plan.drafting.draft import Draft, DraftGroup, DraftStep

Table: TypeAlias = dict[str, Any]

FORM = ("out_of_round", "taper")


def new_table(draft: Draft) -> Table:
    """A short plan: what all groups share stands in [defaults], the rest with its group."""
    defaults: Table = {"stations": list(draft.stations), "angles_deg": list(draft.angles_deg)}
    shared = {}
    for key in FORM:
        values = {length_text(getattr(group, key)) for group in draft.groups}
        if len(values) == 1 and None not in values:
            shared[key] = values.pop()
    groups = [_group(group, shared) for group in draft.groups]
    journals = [one for group in draft.groups for one in _journals(group, draft.strip)]
    defaults |= shared
    return {
        "schema": 1,
        "part": draft.part,
        "defaults": defaults,
        "group": groups,
        "journal": journals,
    }


def _group(group: DraftGroup, shared: Mapping[str, Any]) -> Table:
    table: Table = {"name": group.name}
    if group.stack:
        table["stack"] = group.stack
    table |= limits_of(group)
    table |= {
        key: length_text(getattr(group, key))
        for key in FORM
        if key not in shared and getattr(group, key) is not None
    }
    if group.steps:
        table["undersize"] = [step_table(step) for step in group.steps]
    return table


def limits_of(group: DraftGroup) -> Table:
    """The limits of a group as the file has them, with their cross-check."""
    pairs = (("low", group.low, group.cross_low), ("high", group.high, group.cross_high))
    return {
        key: str(stated) if cross is None else [str(stated), str(cross)]
        for key, stated, cross in pairs
        if stated is not None
    }


def step_table(step: DraftStep) -> Table:
    """One undersize as the file has it."""
    table: Table = {"name": step.name, "by": str(step.by), "low": str(step.low)}
    return table if step.high is None else {**table, "high": str(step.high)}


def _journals(group: DraftGroup, strip: Sequence[str]) -> Iterator[Table]:
    """One table for the journals that are open, one for those that are reached last."""
    parts: tuple[tuple[list[str], Table], ...] = (
        ([name for name in group.journals if name not in strip], {}),
        ([name for name in group.journals if name in strip], {"access": "after-strip"}),
    )
    for names, more in parts:
        if names:
            yield {**called(names), **({"group": group.name} if group.name else {}), **more}


def called(names: Sequence[str]) -> Table:
    """The name of one journal, or the names of several alike."""
    return {"name": names[0]} if len(names) == 1 else {"names": list(names)}


def length_text(length: Length | None) -> str | None:
    """A length as the file has it."""
    return None if length is None else str(length)
