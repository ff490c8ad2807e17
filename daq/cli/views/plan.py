"""A plan as lines and as a JSON document. Pure: from the record to text."""

from collections.abc import Iterator
from typing import Any

from daq.lengths import Length, Limits, plain
from daq.plan.plan import GroupPlan, JournalPlan, Plan


def plan_lines(plan: Plan) -> Iterator[str]:
    """What a plan measures, line by line."""
    total = sum(_places(journal) * journal.repeats for journal in plan.journals)
    yield f"{plan.part}: {len(plan.journals)} journals, {total} readings"
    decision = plan.decision
    yield (
        f"decision: {decision.rule} acceptance, confidence {decision.confidence:g}, "
        f"{decision.state} part"
    )
    if plan.study is not None:
        names = ", ".join(plan.study.operators)
        yield f"study: operators {names}; {plan.study.trials} trials each"
    for group in plan.groups:
        yield from _group_lines(group)
    for journal in plan.journals:
        group_name = f" ({journal.group})" if journal.group else ""
        yield f"{journal.name}{group_name}: {_limits(journal.limits)}"
        if journal.undersize:
            standard = _limits(journal.standard_limits)
            yield f"    as undersize {journal.undersize}; standard {standard}"
        angles = ", ".join(str(angle) for angle in journal.angles_deg)
        repeats = f", {journal.repeats} times" if journal.repeats > 1 else ""
        yield f"    at {', '.join(journal.stations)}; angles {angles}{repeats}"


def _places(journal: JournalPlan) -> int:
    return len(journal.stations) * len(journal.angles_deg)


def _limits(limits: Limits) -> str:
    words = [f"{limits.low} to {limits.high}" if limits.high else f"from {limits.low}"]
    sign = "at most" if limits.is_form_equal_allowed else "under"
    if limits.out_of_round is not None:
        words.append(f"out of round {sign} {limits.out_of_round}")
    if limits.taper is not None:
        per = f" per {limits.taper_per}" if limits.taper_per else ""
        words.append(f"taper {sign} {limits.taper}{per}")
    return "; ".join(words)


def _group_lines(group: GroupPlan) -> Iterator[str]:
    words = [f"stack {group.stack}"] if group.stack else []
    if group.greatest_undersize is not None:
        words.append(f"greatest undersize {group.greatest_undersize}")
    if group.clean_up is not None:
        words.append(f"clean-up {group.clean_up}")
    for name, band in (
        ("housing bore", group.housing_bore),
        ("shell wall", group.shell_wall),
        ("oil clearance", group.oil_clearance),
    ):
        if band is not None:
            words.append(f"{name} {band[0]} to {band[1]}")
    yield f"group {group.name}" + (f": {'; '.join(words)}" if words else "")
    for step in group.undersizes:
        top = f" to {step.high}" if step.high else " and over"
        how = "bearings only, " if step.is_bearing_only else "ground to "
        worn = f", may wear to {step.worn_low}" if step.worn_low else ""
        yield f"    undersize {step.name} (by {step.by}): {how}{step.low}{top}{worn}"


def plan_document(plan: Plan) -> dict[str, Any]:
    """A plan as JSON takes it: lengths as written, and in mm as exact decimal text."""
    return {
        "plan": plan.source,
        "part": plan.part,
        "decision": {
            "rule": plan.decision.rule,
            "confidence": plan.decision.confidence,
            "state": plan.decision.state,
        },
        "groups": [
            {
                "name": group.name,
                "stack": group.stack,
                "present_undersize": group.present_undersize or None,
                "undersizes": [
                    {
                        "name": step.name,
                        "by": _length(step.by),
                        "low": _length(step.low),
                        "high": _length(step.high),
                        "worn_low": _length(step.worn_low),
                        "bearing_only": step.is_bearing_only,
                    }
                    for step in group.undersizes
                ],
            }
            for group in plan.groups
        ],
        "journals": [
            {
                "name": journal.name,
                "group": journal.group,
                "low": _length(journal.limits.low),
                "high": _length(journal.limits.high),
                "out_of_round": _length(journal.limits.out_of_round),
                "taper": _length(journal.limits.taper),
                "taper_per": _length(journal.limits.taper_per),
                "form_limit": "not-over" if journal.limits.is_form_equal_allowed else "under",
                "stations": list(journal.stations),
                "angles_deg": list(journal.angles_deg),
                "repeats": journal.repeats,
            }
            for journal in plan.journals
        ],
    }


def _length(length: Length | None) -> dict[str, str] | None:
    return None if length is None else {"stated": str(length), "mm": plain(length.mm)}
