"""The plan: what to measure. TOML text to a frozen record; errors name the key.

A plan is taken in two ways. `parse_plan` is for what people write: it refuses by every rule of
today. `read_plan` is for the text that a ledger recorded: its own program had checked it, so only
its shape counts, what a record needs to be built at all, and no rule made since can spoil it. Keys
that this program does not know are no fault of a record either; they are kept by name, and no run
begins with such a plan (`scope.make_scope`), for they may be what it is to be judged by.
"""

from collections.abc import Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

import msgspec

from daq.errors import PlanError
from daq.lengths import Length
from daq.plan.examples import written
from daq.plan.fields import check_name, quoted, read_length
from daq.plan.group_names import check_group_names
from daq.plan.groups import GroupPlan, Undersize, check_group, check_members, read_group
from daq.plan.journals import JournalPlan, check_journal, check_stated, read_journal
from daq.plan.key_words import names_in, place_words
from daq.plan.levels import journals_in, told_journals
from daq.plan.method import (
    CheckPlan,
    DecisionPlan,
    IntervalPlan,
    StudyPlan,
    TakingPlan,
    check_decision,
    check_gauge_check,
    check_intervals,
    check_study,
    read_decision,
    read_gauge_check,
    read_intervals,
    read_study,
    read_taking,
)
from daq.plan.schema import (
    MOST_FILE_BYTES,
    SCHEMA,
    DefaultsTable,
    JournalTable,
    PlanFile,
    json_schema,
)
from daq.plan.shape_words import in_words
from daq.plan.temperature import TemperaturePlan, check_temperature, read_temperature
from daq.plan.toml_slips import slip_words
from drivers.toml_file import WrongKey, converted, known_only, table_in, text_in

MOST_POSITIONS = 10_000
MOST_PART = 200
"""Characters in the name of the part."""


class Plan(msgspec.Struct, frozen=True, dict=True):
    """A whole plan. `text` is the file as read; `source` names it in messages. `groups` are those
    that have a [[group]], in the order of the file. `unknown`: the keys of a recorded plan that
    this program does not know.
    """

    source: str
    text: str
    part: str
    check: CheckPlan
    journals: tuple[JournalPlan, ...]
    default_window: Length
    groups: tuple[GroupPlan, ...] = ()
    temperature: TemperaturePlan = TemperaturePlan()
    decision: DecisionPlan = DecisionPlan()
    study: StudyPlan | None = None
    intervals: IntervalPlan = IntervalPlan()
    taking: TakingPlan = TakingPlan()
    unknown: tuple[str, ...] = ()

    @cached_property
    def by_name(self) -> Mapping[str, JournalPlan]:
        """The journals by their names."""
        return {journal.name: journal for journal in self.journals}

    def group(self, name: str) -> GroupPlan:
        """The group of that name; a bare one if the plan says nothing of it."""
        for group in self.groups:
            if group.name == name:
                return group
        return GroupPlan(key="", name=name)


def load_plan(path: Path) -> Plan:
    """The plan in a file, as `parse_plan`; raises PlanError, also where it cannot be read."""
    try:
        return parse_plan(text_in(path, MOST_FILE_BYTES), str(path))
    except WrongKey as wrong:
        reason = wrong.reason
        if reason.startswith("not UTF-8 text"):  # the rest counts bytes
            reason = "not UTF-8 text. Save it as UTF-8 with your editor"
        raise PlanError(path, wrong.key, reason) from wrong


def parse_plan(text: str, source: str) -> Plan:
    """The plan in `text`, checked; raises PlanError naming `source` and the key."""
    try:
        file = _file(_table(text), text)
        check_plan(file)
        return _plan(file, text, source)
    except WrongKey as wrong:
        raise _refused(source, wrong, text) from wrong


def read_plan(text: str, source: str) -> Plan:
    """The plan in `text`, which some program has checked: the same record as `parse_plan` gives.

    Raises PlanError naming `source` and the key where `text` has not the shape of a plan.
    """
    try:
        table, unknown = known_only(_table(text), PlanFile)
        return _plan(_file(table, text), text, source, unknown)
    except WrongKey as wrong:
        raise _refused(source, wrong, text) from wrong


def _refused(source: str, wrong: WrongKey, text: str) -> PlanError:
    place = place_words(wrong.key, wrong.reason, names_in(text))
    return PlanError(source, wrong.key, wrong.reason, place)


def _table(text: str) -> dict[str, Any]:
    """The table of a plan's text; raises WrongKey in the words of people who write plans."""
    try:
        return table_in(text, SCHEMA)
    except WrongKey as wrong:
        if wrong.key:
            raise WrongKey(
                wrong.key, f"{wrong.reason}. Write schema = 1 as the first line"
            ) from wrong
        said = slip_words(text, wrong.reason.removeprefix("not a TOML file: "))
        raise WrongKey("", said) from wrong


def _file(table: object, text: str) -> PlanFile:
    """The table as a record; raises WrongKey in the words of people who write plans."""
    try:
        return converted(table, PlanFile)
    except WrongKey as wrong:
        raise in_words(wrong, text) from wrong


def _plan(file: PlanFile, text: str, source: str, unknown: tuple[str, ...] = ()) -> Plan:
    window = read_length(file.defaults.window, "defaults.window")
    groups = _read_groups(file)
    return Plan(
        source=source,
        text=text,
        part=file.part,
        check=read_gauge_check(file.check),
        journals=_read_journals(file, groups),
        default_window=window,
        groups=tuple(groups.values()),
        temperature=read_temperature(file.temperature),
        decision=read_decision(file.decision),
        study=read_study(file.study),
        intervals=read_intervals(file),
        taking=read_taking(file.defaults),
        unknown=unknown,
    )


def _read_groups(file: PlanFile) -> dict[str, GroupPlan]:
    """By name, in the order of the file."""
    return {
        table.name: read_group(table, f"group[{number}]")
        for number, table in enumerate(file.group, 1)
    }


def _read_journals(file: PlanFile, groups: Mapping[str, GroupPlan]) -> tuple[JournalPlan, ...]:
    study = read_study(file.study)
    is_ground = read_decision(file.decision).state == "ground"
    return tuple(read_journal(told, groups, study, is_ground) for told in told_journals(file))


# What a plan is refused for -----------------------------------------------------------------------


def check_plan(file: PlanFile) -> None:
    """Refuse a plan that cannot be meant; raises WrongKey for the first fault, in this order."""
    _check_groups(file)
    check_gauge_check(file.check)
    check_intervals(file)
    if len(file.part) > MOST_PART:
        raise WrongKey("part", f"has {len(file.part)} characters, at most {MOST_PART}: shorten it")
    if not file.journal:
        raise WrongKey("journal", "a plan needs at least one [[journal]]: add one")
    _check_stated(file.defaults, "defaults")
    check_study(file)
    _check_each_journal(file)
    check_group_names(file)
    groups = _read_groups(file)
    journals = _read_journals(file, groups)
    for group in groups.values():
        members = [(j.key, j.name, j.standard_limits) for j in journals if j.group == group.name]
        check_members(group, members)
    _check_high(file, journals)
    total = sum(len(j.stations) * len(j.angles_deg) * j.repeats for j in journals)
    if total > MOST_POSITIONS:
        raise WrongKey(
            "journal",
            f"{total} readings in all, at most {MOST_POSITIONS} in one plan: write fewer stations, "
            "angles or repeats, or two plans",
        )
    check_temperature(file.temperature)
    check_decision(file.decision)


def _check_groups(file: PlanFile) -> None:
    seen: set[str] = set()
    for number, table in enumerate(file.group, 1):
        key = f"group[{number}]"
        check_group(table, key)
        check_stated(table, key)
        if table.name in seen:
            raise WrongKey(
                f"{key}.name", f"a second group called {quoted(table.name)}: make one of the two"
            )
        seen.add(table.name)


def _check_each_journal(file: PlanFile) -> None:
    seen: set[str] = set()
    for number, table in enumerate(file.journal, 1):
        key = f"journal[{number}]"
        _check_named(table, key)
        for name_key, name in journals_in(table, key):
            check_name(name, name_key)
            if name in seen:
                raise WrongKey(
                    name_key, f"a second journal called {quoted(name)}: give each a name of its own"
                )
            seen.add(name)
        _check_stated(table, key)
    for told in told_journals(file):
        check_journal(told)


def _check_named(table: JournalTable, key: str) -> None:
    """Refuse a journal with two sorts of names, and a list of none."""
    if table.name is not None and table.names is not None:
        raise WrongKey(
            f"{key}.names", "write name for one journal or names for several alike, not both"
        )
    if table.names is not None and not table.names:
        raise WrongKey(f"{key}.names", 'an empty list: write the journals, like ["M1", "M2"]')


def _check_stated(table: DefaultsTable | JournalTable, key: str) -> None:
    if table.group is not None:
        check_name(table.group, f"{key}.group")
    check_stated(table, key)


def _check_high(file: PlanFile, journals: Sequence[JournalPlan]) -> None:
    """Refuse a journal without a high limit where a limit of the check is to be derived from it."""
    missing = [
        word
        for word in ("max_error", "max_spread", "max_drift")
        if getattr(file.check, word) is None
    ]
    for journal in journals:
        if journal.limits.high is None and missing:
            raise WrongKey(
                f"check.{missing[0]}",
                f"missing. {journal.name} has no high limit to derive it from: write "
                f"{written(f'check.{missing[0]}')}, or the high limit",
            )


__all__ = [
    "CheckPlan",
    "DecisionPlan",
    "GroupPlan",
    "JournalPlan",
    "Plan",
    "StudyPlan",
    "TakingPlan",
    "TemperaturePlan",
    "Undersize",
    "json_schema",
    "load_plan",
    "parse_plan",
    "read_plan",
]
