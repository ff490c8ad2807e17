"""An existing plan with what was answered otherwise; all else stays as it is. Pure.

An answer for a group goes to the group, and its journals then say nothing else.
"""

from collections.abc import Mapping, Sequence
from copy import deepcopy
from typing import Any, TypeAlias

from daq.plan.drafting.draft import Draft, DraftGroup
from daq.plan.drafting.existing import (
    LIMITS,
    draft_of,
    group_name,
    group_table,
    names_of,
    step_of,
    table_of,
)
from daq.plan.drafting.new_plan import FORM, called, length_text, limits_of, step_table

Table: TypeAlias = dict[str, Any]


def changed_table(draft: Draft) -> Table:
    """The table of the plan that is being changed, with what was answered otherwise."""
    assert draft.before is not None
    table = table_of(draft.before)
    was = draft_of(draft.before, "")
    if draft.part != was.part:
        table["part"] = draft.part
    _set_places(table, draft, was)
    for group in was.groups:
        if draft.group(group.name) is None:
            _drop_group(table, group.name)
    for group in draft.groups:
        _set_group(table, group, was.group(group.name) or DraftGroup(group.name))
    if set(draft.strip) != set(was.strip):
        _set_strip(table, draft.strip)
    return table


def _set_places(table: Table, draft: Draft, was: Draft) -> None:
    for key, word in (("stations", "stations"), ("angles_deg", "angles")):
        value = list(getattr(draft, key))
        if value == list(getattr(was, key)) and (word in draft.mixed) == (word in was.mixed):
            continue
        for one in (*table.get("group", ()), *table["journal"]):
            one.pop(key, None)
            if key == "stations":
                one.pop("station_at", None)
        defaults = _sub(table, "defaults")
        defaults[key] = value
        if key == "stations":
            defaults.pop("station_at", None)


def _sub(table: Table, key: str) -> Table:
    found: Table = table.setdefault(key, {})
    return found


def _drop_group(table: Table, name: str) -> None:
    table["journal"] = [one for one in table["journal"] if group_name(one) != name]
    if "group" in table:
        table["group"] = [one for one in table["group"] if one["name"] != name]


def _set_group(table: Table, group: DraftGroup, was: DraftGroup) -> None:
    """The tables of one group as answered."""
    if group.journals != was.journals:
        _set_members(table, group, was)
    limits = ("low", "high", "cross_low", "cross_high")
    is_new = not was.journals
    if is_new or group.journals != was.journals or _differ(group, was, limits, "limits"):
        _set_keys(table, group, "limits", LIMITS, limits_of(group))
    if is_new or _differ(group, was, FORM, "form"):
        values = {key: length_text(getattr(group, key)) for key in FORM}
        _set_keys(table, group, "form", FORM, {k: v for k, v in values.items() if v is not None})
    if group.steps != was.steps:
        _set_steps(table, group)
    if group.stack != was.stack:
        holder = _own(table, group.name) if group.name else _sub(table, "check")
        if group.stack:
            holder["stack"] = group.stack
        else:
            holder.pop("stack", None)


def _differ(group: DraftGroup, was: DraftGroup, keys: Sequence[str], word: str) -> bool:
    if (word in group.mixed) != (word in was.mixed):
        return True
    return any(getattr(group, key) != getattr(was, key) for key in keys)


def _own(table: Table, name: str) -> Table:
    """The [[group]] of that name, made if there is none."""
    found = group_table(table, name)
    if found is None:
        found = {"name": name}
        table.setdefault("group", []).append(found)
    return found


def _set_members(table: Table, group: DraftGroup, was: DraftGroup) -> None:
    """Journals that went are taken out; new ones stand in a table of their own."""
    kept = []
    for one in table["journal"]:
        names = names_of(one)
        if group_name(one) == group.name:
            names = [name for name in names if name in group.journals]
        if names:
            kept.append(one if names == names_of(one) else _renamed(one, names))
    new = [name for name in group.journals if name not in was.journals]
    if new:
        kept.append({**called(new), **({"group": group.name} if group.name else {})})
    table["journal"] = kept


def _renamed(journal: Table, names: Sequence[str]) -> Table:
    rest = {key: value for key, value in journal.items() if key not in ("name", "names")}
    return {**called(names), **rest}


def _set_keys(
    table: Table, group: DraftGroup, word: str, keys: Sequence[str], values: Mapping[str, Any]
) -> None:
    """One answer for the whole group: it goes to the group, its journals say nothing else."""
    if word in group.mixed:
        return
    members = [one for one in table["journal"] if group_name(one) == group.name]
    for one in members:
        for key in keys:
            one.pop(key, None)
    holders = [_own(table, group.name)] if group.name else members
    for holder in holders:
        for key in keys:
            holder.pop(key, None)
        holder.update(deepcopy(dict(values)))
    for key in keys:
        if key not in values and key in table.get("defaults", {}):
            _push_down(table, key, group.name)


def _push_down(table: Table, key: str, but: str) -> None:
    """A default that one group is to be without goes to all the others."""
    value = table["defaults"].pop(key)
    for journal in table["journal"]:
        name = group_name(journal)
        if name == but:
            continue
        (_own(table, name) if name else journal).setdefault(key, deepcopy(value))


def _set_steps(table: Table, group: DraftGroup) -> None:
    """The undersizes; one that is there already keeps what else the plan says of it."""
    own = _own(table, group.name)
    before = own.get("undersize", [])
    steps = []
    for step in group.steps:
        same = next((one for one in before if step_of(one) == step), None)
        named: Table = next((one for one in before if one["name"] == step.name), {})
        more = {"worn_low": named["worn_low"]} if "worn_low" in named and same is None else {}
        steps.append(same or {**step_table(step), **more})
    own["undersize"] = steps
    if not steps:
        del own["undersize"]


def _set_strip(table: Table, strip: Sequence[str]) -> None:
    journals = []
    for one in table["journal"]:
        names = names_of(one)
        late = [name for name in names if name in strip]
        early = [name for name in names if name not in strip]
        if early:
            before = {key: value for key, value in one.items() if key != "access"}
            group = group_table(table, group_name(one)) or {}
            inherited = group.get("access", table.get("defaults", {}).get("access"))
            journals.append(
                _renamed(before, early) | ({"access": "open"} if inherited == "after-strip" else {})
            )
        if late:
            journals.append(_renamed(one, late) | {"access": "after-strip"})
    table["journal"] = journals
