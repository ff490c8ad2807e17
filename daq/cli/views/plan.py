"""A plan as lines and as a JSON document. Pure: from the record to text."""

from collections.abc import Iterator, Sequence
from typing import Any

import msgspec

from daq.lengths import Length, Limits, plain
from daq.pictures.layout import kind_of
from daq.plan.key_words import several
from daq.plan.plan import GroupPlan, JournalPlan, Plan


def plan_lines(plan: Plan) -> Iterator[str]:
    """What a plan measures, line by line; journals that are alike stand in one."""
    total = sum(_places(journal) * journal.repeats for journal in plan.journals)
    yield f"{plan.part}: {_count(len(plan.journals), 'journal')}, {_count(total, 'reading')}"
    yield _judged(plan)
    if plan.study is not None:
        names = ", ".join(plan.study.operators)
        yield f"study: operators {names}; {plan.study.trials} trials each"
    if plan.taking.is_typed_twice:
        yield "typed readings: each is asked for twice"
    if plan.taking.held != "ask":
        yield "readings in question: one that came too soon may be answered by a second press"
    for group in plan.groups:
        yield from _group_lines(group)
    everywhere = {_where(journal) for journal in plan.journals}
    for members in _alike(plan.journals):
        yield from _journal_lines(plan, members, is_where_told=len(everywhere) > 1)
    if len(everywhere) == 1:
        every = "every journal " if len(plan.journals) > 1 else ""
        yield f"{every}{everywhere.pop()}"


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def _judged(plan: Plan) -> str:
    """How a size is held against its limits."""
    decision = plan.decision
    part = (
        "a part just ground, held to both limits" if decision.state == "ground" else "a used part"
    )
    if decision.rule == "simple":
        return f"judged by the limits alone; {part}"
    percent = f"{decision.confidence * 100:g} %"
    return f"judged with a margin at the limits, so that a verdict is {percent} sure; {part}"


def _alike(journals: Sequence[JournalPlan]) -> list[list[JournalPlan]]:
    """Journals of one group with the same limits and places, by the first of each sort."""
    found: dict[JournalPlan, list[JournalPlan]] = {}
    for journal in journals:
        sort = msgspec.structs.replace(journal, key="", name="")
        found.setdefault(sort, []).append(journal)
    return list(found.values())


def _journal_lines(
    plan: Plan, members: Sequence[JournalPlan], *, is_where_told: bool
) -> Iterator[str]:
    journal = members[0]
    group_name = f" ({journal.group})" if journal.group else ""
    last = "; measured last, after stripping" if journal.is_after_strip else ""
    names = several([one.name for one in members])
    drawn = f"; drawn as kind {journal.kind}" if journal.kind else ""
    yield f"{names}{group_name}: {_limits(journal.limits)}{last}{drawn}"
    if journal.window != plan.default_window:
        yield f"    a reading up to {journal.window} outside the limits is believed"
    if journal.undersize:
        standard = _limits(journal.standard_limits)
        yield f"    as undersize {journal.undersize}; standard {standard}"
    if is_where_told:
        yield f"    {_where(journal)}"


def _where(journal: JournalPlan) -> str:
    """Where and how often a journal is measured."""
    angles = ", ".join(str(angle) for angle in journal.angles_deg)
    repeats = f", {journal.repeats} times" if journal.repeats > 1 else ""
    stations = list(journal.stations)
    if journal.station_at:
        pairs = zip(journal.stations, journal.station_at, strict=True)
        stations = [f"{station} ({at})" for station, at in pairs]
    return f"at {', '.join(stations)}; angles {angles}{repeats}"


def _places(journal: JournalPlan) -> int:
    return len(journal.stations) * len(journal.angles_deg)


def _range(low: Length, high: Length) -> str:
    """Two limits, the unit once where they share it."""
    if low.unit == high.unit:
        return f"{plain(low.value)} to {high}"
    return f"{low} to {high}"


def _limits(limits: Limits) -> str:
    words = [_range(limits.low, limits.high) if limits.high else f"from {limits.low}"]
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
            words.append(f"{name} {_range(*band)}")
    yield f"group {group.name}" + (f": {'; '.join(words)}" if words else "")
    for step in group.undersizes:
        size = _range(step.low, step.high) if step.high else f"{step.low} and over"
        how = "bearings only, " if step.is_bearing_only else "ground to "
        worn = f", may wear to {step.worn_low}" if step.worn_low else ""
        yield f"    undersize {step.name} (by {step.by}): {how}{size}{worn}"


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
        "typed": "twice" if plan.taking.is_typed_twice else "once",
        "held": plan.taking.held,
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
                "kind": journal.kind or kind_of(journal.group, journal.name),
                "access": "after-strip" if journal.is_after_strip else "open",
            }
            for journal in plan.journals
        ],
    }


def _length(length: Length | None) -> dict[str, str] | None:
    return None if length is None else {"stated": str(length), "mm": plain(length.mm)}
