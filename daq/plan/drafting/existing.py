"""An existing plan as a draft: the answers that it gives. Pure."""

import tomllib
from collections.abc import Mapping
from typing import Any, TypeAlias

from daq.lengths import Length, parse_length
from daq.plan.drafting.draft import (
    USUAL_ANGLES,
    USUAL_STATIONS,
    Draft,
    DraftGroup,
    DraftStep,
    Units,
)
from daq.plan.drafting.new_plan import FORM
from daq.plan.plan import parse_plan

Table: TypeAlias = dict[str, Any]

LIMITS = ("low", "high")


def draft_of(text: str, source: str) -> Draft:
    """The answers that an existing plan gives; raises PlanError naming `source` if it is none."""
    plan = parse_plan(text, source)
    table = table_of(text)
    groups = tuple(
        _group_of(table, name)
        for name in dict.fromkeys(group_name(one) for one in table["journal"])
    )
    places = {(journal.stations, journal.angles_deg) for journal in plan.journals}
    stations = {one for one, _ in places}
    angles = {one for _, one in places}
    mixed = [word for word, all_ in (("stations", stations), ("angles", angles)) if len(all_) > 1]
    first = _effective(table, table["journal"][0], "low")
    return Draft(
        part=plan.part,
        units=_units(first),
        groups=groups,
        stations=stations.pop() if len(stations) == 1 else USUAL_STATIONS,
        angles_deg=angles.pop() if len(angles) == 1 else USUAL_ANGLES,
        strip=tuple(journal.name for journal in plan.journals if journal.is_after_strip),
        before=text,
        mixed=tuple(mixed),
    )


def _units(spec: object) -> Units:
    texts = spec if isinstance(spec, list) else [spec]
    is_inch = str(texts[0]).rstrip().endswith("in")
    if len(texts) == 2:
        return "in mm" if is_inch else "mm in"
    return "in" if is_inch else "mm"


def table_of(text: str) -> Table:
    """The table of a plan's text, the group of each journal with the journal itself."""
    table: Table = tomllib.loads(text)
    usual = table.get("defaults", {}).pop("group", None)
    for journal in table.get("journal", ()) if usual else ():
        journal.setdefault("group", usual)
    return table


def group_name(journal: Mapping[str, Any]) -> str:
    """The group that a [[journal]] belongs to, "" for none."""
    return str(journal.get("group", ""))


def names_of(journal: Mapping[str, Any]) -> list[str]:
    """The names of the journals of a [[journal]]."""
    return list(journal["names"]) if "names" in journal else [journal["name"]]


def group_table(table: Mapping[str, Any], name: str) -> Table | None:
    """The [[group]] of that name."""
    found: Table | None = next((one for one in table.get("group", ()) if one["name"] == name), None)
    return found if name else None


def _effective(table: Mapping[str, Any], journal: Mapping[str, Any], key: str) -> Any:
    """What holds for a journal: its own word, else its group's, else the defaults'."""
    group = group_table(table, group_name(journal)) or {}
    for one in (journal, group, table.get("defaults", {})):
        if key in one:
            return one[key]
    return None


def _group_of(table: Mapping[str, Any], name: str) -> DraftGroup:
    members = [one for one in table["journal"] if group_name(one) == name]
    group = group_table(table, name) or {}
    found: dict[str, Any] = {}
    mixed = []
    for word, keys in (("limits", LIMITS), ("form", FORM)):
        values = [[_effective(table, one, key) for key in keys] for one in members]
        if any(value != values[0] for value in values):
            mixed.append(word)
            continue
        for key, spec in zip(keys, values[0], strict=True):
            texts = spec if isinstance(spec, list) else [spec] if spec is not None else []
            if texts:
                found[key] = parse_length(texts[0])
            if len(texts) == 2 and word == "limits":
                found[f"cross_{key}"] = parse_length(texts[1])
    return DraftGroup(
        name=name,
        journals=tuple(each for one in members for each in names_of(one)),
        steps=tuple(step_of(step) for step in group.get("undersize", ())),
        stack=group.get("stack") or table.get("check", {}).get("stack") or "",
        mixed=tuple(mixed),
        **found,
    )


def step_of(step: Mapping[str, Any]) -> DraftStep:
    """One undersize of a file."""
    by, low, high = (_stated(step.get(key)) for key in ("by", "low", "high"))
    assert by is not None
    assert low is not None
    return DraftStep(step["name"], by, low, high)


def _stated(spec: object) -> Length | None:
    if spec is None:
        return None
    return parse_length(str(spec[0] if isinstance(spec, list) else spec))
