"""A plan for a part that was ground to an undersize: inspected against that one's limits. Pure.

A word is GROUP=NAME, or NAME for every group that has an undersize of that name. `check_ground_to`
refuses words that cannot be meant; `ground` takes those of a record as they are.
"""

from collections.abc import Iterator, Sequence

import msgspec

from daq.plan.groups import GroupPlan, Undersize
from daq.plan.journals import JournalPlan
from daq.plan.plan import Plan


def ground(plan: Plan, words: Sequence[str]) -> Plan:
    """The plan as if its groups had been ground to these undersizes: the present undersize, the
    limits to grind to as the journals' limits, both of which must be shown to be kept. Words that
    name nothing to inspect against change nothing.
    """
    chosen = {
        group.name: step
        for word in words
        for group, step in _named(plan, word)
        if _reason_against(step) is None
    }
    if not chosen:
        return plan
    return msgspec.structs.replace(
        plan,
        groups=tuple(_with_present(group, chosen.get(group.name)) for group in plan.groups),
        journals=tuple(_to(journal, chosen.get(journal.group)) for journal in plan.journals),
    )


def _named(plan: Plan, word: str) -> Iterator[tuple[GroupPlan, Undersize]]:
    """The groups that a word names, each with its undersize."""
    for group in plan.groups:
        name = word.removeprefix(f"{group.name}=")
        for step in group.undersizes:
            if step.name in (word, name):
                yield group, step


def _reason_against(step: Undersize) -> str | None:
    """Why a journal cannot be inspected against an undersize."""
    if step.is_bearing_only:
        return "is for bearings only: nothing is ground to it"
    if step.high is None:
        return "has no high limit, so there is nothing to inspect against"
    return None


def _with_present(group: GroupPlan, step: Undersize | None) -> GroupPlan:
    if step is None:
        return group
    return msgspec.structs.replace(group, present_undersize=step.name)


def _to(journal: JournalPlan, step: Undersize | None) -> JournalPlan:
    """Limits on form stay: manuals state them for every size alike."""
    if step is None:
        return journal
    return msgspec.structs.replace(
        journal,
        limits=msgspec.structs.replace(journal.standard_limits, low=step.low, high=step.high),
        undersize=step.name,
        standard=journal.standard_limits,
        is_ground=True,
    )


def ground_to_fault(plan: Plan, words: Sequence[str]) -> str | None:
    """Why a part of this plan cannot be inspected as ground to these undersizes, naming what there
    is; None if it can.
    """
    chosen: dict[str, str] = {}
    for word in words:
        found = list(_named(plan, word))
        if not found:
            return f"{word[:60]!r} is no undersize of this plan (there are: {_known(plan)})"
        for group, step in found:
            against = _reason_against(step)
            if against is not None:
                return f"{step.name} of {group.name} {against} (there are: {_known(plan)})"
            if chosen.setdefault(group.name, step.name) != step.name:
                return f"{group.name} cannot be ground to {chosen[group.name]} and to {step.name}"
            if not any(journal.group == group.name for journal in plan.journals):
                return f"the group {group.name} has no journals in this plan"
    return None


def _known(plan: Plan) -> str:
    """What can be ground to, as it is to be written."""
    names = [
        f"{group.name}={step.name}"
        for group in plan.groups
        for step in group.undersizes
        if _reason_against(step) is None
    ]
    return ", ".join(names[:20]) or "none to grind to"
