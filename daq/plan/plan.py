"""The plan: what to measure. TOML text to a frozen, checked record; errors name the key."""

from collections.abc import Sequence
from pathlib import Path

import msgspec

from daq.errors import PlanError
from daq.lengths import Length, Limits
from daq.metrology.form import TaperLimit
from daq.plan.fields import between, length, limit, name_in, needed_limit, positive
from daq.plan.groups import GroupPlan, Undersize, check_members, group_in, limits_now
from daq.plan.method import (
    CheckPlan,
    DecisionPlan,
    StudyPlan,
    TemperaturePlan,
    check_in,
    decision_in,
    study_in,
    temperature_in,
)
from daq.plan.schema import (
    MOST_FILE_BYTES,
    MOST_REPEATS,
    SCHEMA,
    DefaultsTable,
    JournalTable,
    PlanFile,
    json_schema,
)
from drivers.toml_file import WrongKey, converted, table_in, text_in

MOST_POSITIONS = 10_000


class JournalPlan(msgspec.Struct, frozen=True):
    """One journal to measure. `key` is its place in the file, for messages, `group_key` that of its
    group, empty without one; `group_stack` is the stack of its group, a size or a saved name, if
    that has one of its own.

    `limits` are those of the part as it is now; where it has an undersize already, `undersize` is
    that one's name and `standard` holds the limits as stated for the standard size. `station_at`:
    where each station lies along the journal, one per station, or empty.
    """

    key: str
    name: str
    group: str
    limits: Limits
    stations: tuple[str, ...]
    angles_deg: tuple[int, ...]
    repeats: int
    window: Length
    group_stack: str | None
    group_key: str
    is_after_strip: bool
    station_at: tuple[Length, ...] = ()
    undersize: str = ""
    standard: Limits | None = None

    @property
    def standard_limits(self) -> Limits:
        """The limits at standard size, whatever the part has now."""
        return self.standard or self.limits

    @property
    def taper_limit(self) -> TaperLimit | None:
        """How much taper is allowed; None if the plan says nothing of it."""
        limits = self.limits
        if limits.taper is None:
            return None
        at = zip(self.stations, self.station_at, strict=True) if limits.taper_per else ()
        return TaperLimit(limits.taper, limits.taper_per, {name: where.mm for name, where in at})


class Plan(msgspec.Struct, frozen=True):
    """A whole plan, checked. `text` is the file as read; `source` names it in messages. `groups`
    are those that have a [[group]], in the order of the file.
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

    def group(self, name: str) -> GroupPlan:
        """The group of that name; a bare one if the plan says nothing of it."""
        for group in self.groups:
            if group.name == name:
                return group
        return GroupPlan(key="", name=name)


def read_plan(path: Path) -> Plan:
    """The plan in a file; raises PlanError, also where the file cannot be read."""
    try:
        return parse_plan(text_in(path, MOST_FILE_BYTES), str(path))
    except WrongKey as wrong:
        raise PlanError(path, wrong.key, wrong.reason) from wrong


def parse_plan(text: str, source: str) -> Plan:
    """The plan in `text`; raises PlanError naming `source` and the key."""
    try:
        return _plan(converted(table_in(text, SCHEMA), PlanFile), text, source)
    except WrongKey as wrong:
        raise PlanError(source, wrong.key, wrong.reason) from wrong


def _plan(file: PlanFile, text: str, source: str) -> Plan:
    groups = _groups(file)
    check = check_in(file.check)
    if len(file.part) > 200:
        raise WrongKey("part", "at most 200 characters")
    if not file.journal:
        raise WrongKey("journal", "a plan needs at least one journal")
    _places(file.defaults, "defaults")
    study = study_in(file)
    journals = []
    seen: set[str] = set()
    for number, table in enumerate(file.journal, 1):
        key = f"journal[{number}]"
        if table.name in seen:
            raise WrongKey(f"{key}.name", f"a second journal called {table.name!r}")
        seen.add(table.name)
        journals.append(_journal(table, key, file.defaults, groups, study))
    for group in groups.values():
        members = [(j.key, j.name, j.standard_limits) for j in journals if j.group == group.name]
        check_members(group, members)
    _no_high(check, journals)
    total = sum(len(j.stations) * len(j.angles_deg) * j.repeats for j in journals)
    if total > MOST_POSITIONS:
        raise WrongKey("journal", f"{total} positions; at most {MOST_POSITIONS}")
    return Plan(
        source=source,
        text=text,
        part=file.part,
        check=check,
        journals=tuple(journals),
        default_window=positive(file.defaults.window, "defaults.window"),
        groups=tuple(groups.values()),
        temperature=temperature_in(file.temperature),
        decision=decision_in(file.decision),
        study=study,
    )


def _groups(file: PlanFile) -> dict[str, GroupPlan]:
    """By name, in the order of the file."""
    groups: dict[str, GroupPlan] = {}
    for number, table in enumerate(file.group, 1):
        group = group_in(table, f"group[{number}]")
        if group.name in groups:
            raise WrongKey(f"{group.key}.name", f"a second group called {group.name!r}")
        groups[group.name] = group
    return groups


def _places(table: DefaultsTable | JournalTable, key: str) -> None:
    """Check where a journal is measured, as far as this table says so; raises WrongKey."""
    for station in table.stations or ():
        name_in(station, f"{key}.stations")
    for angle in table.angles_deg or ():
        between(angle, 0, 179, f"{key}.angles_deg")
    for name, values in (("stations", table.stations), ("angles_deg", table.angles_deg)):
        if values is None:
            continue
        if not values:
            raise WrongKey(f"{key}.{name}", "an empty list")
        if len(set(values)) != len(values):
            raise WrongKey(f"{key}.{name}", "the same place twice; use repeats")
    if table.repeats is not None:
        between(table.repeats, 1, MOST_REPEATS, f"{key}.repeats")
    if table.window is not None:
        positive(table.window, f"{key}.window")
    if table.taper_per is not None:
        positive(table.taper_per, f"{key}.taper_per")
    if table.station_at is not None and table.stations is not None:
        _distances(table.station_at, table.stations, f"{key}.station_at")


def _distances(texts: Sequence[str], stations: Sequence[str], key: str) -> tuple[Length, ...]:
    """Where the stations lie along the journal, one distance for each."""
    if len(texts) != len(stations):
        raise WrongKey(
            key, f"{len(texts)} distances for {len(stations)} stations ({', '.join(stations)[:60]})"
        )
    found = tuple(length(text, key) for text in texts)
    for place in found:
        if place.value < 0:
            raise WrongKey(key, f"{place} is below zero: count from one end of the journal")
    if len({place.mm for place in found}) != len(found):
        raise WrongKey(key, "two stations at the same distance")
    return found


def _journal(
    table: JournalTable,
    key: str,
    defaults: DefaultsTable,
    groups: dict[str, GroupPlan],
    study: StudyPlan | None,
) -> JournalPlan:
    name_in(table.name, f"{key}.name")
    _places(table, key)
    if table.group is not None:
        name_in(table.group, f"{key}.group")
    stated = _limits(table, key, defaults)
    stations = defaults.stations if table.stations is None else table.stations
    angles = defaults.angles_deg if table.angles_deg is None else table.angles_deg
    repeats = defaults.repeats if table.repeats is None else table.repeats
    window = defaults.window if table.window is None else table.window
    group = groups.get(table.group or "") or GroupPlan(key="", name="")
    limits = limits_now(group, stated)
    return JournalPlan(
        key=key,
        name=table.name,
        group=table.group or "",
        limits=limits,
        stations=tuple(stations),
        angles_deg=tuple(angles),
        repeats=repeats if study is None else study.repeats,
        window=positive(window, f"{key}.window"),
        group_stack=group.stack,
        group_key=group.key,
        is_after_strip=table.access == "after-strip",
        station_at=_station_at(table, key, defaults, is_needed=stated.taper_per is not None),
        undersize=group.present_undersize,
        standard=None if limits is stated else stated,
    )


def _limits(table: JournalTable, key: str, defaults: DefaultsTable) -> Limits:
    """The limits of one journal as stated."""
    low = needed_limit(table.low, f"{key}.low")
    high = limit(table.high, f"{key}.high")
    if high is not None and low.mm >= high.mm:
        raise WrongKey(f"{key}.low", f"limits upside down: low {low} is not under high {high}")
    taper = limit(table.taper, f"{key}.taper")
    if table.taper_per is not None and taper is None:
        raise WrongKey(f"{key}.taper_per", "there is no limit on taper here")
    per = table.taper_per or defaults.taper_per
    return Limits(
        low=low,
        high=high,
        out_of_round=limit(table.out_of_round, f"{key}.out_of_round"),
        taper=taper,
        taper_per=None if per is None or taper is None else positive(per, f"{key}.taper_per"),
        is_form_equal_allowed=(table.form_limit or defaults.form_limit) == "not-over",
    )


def _station_at(
    table: JournalTable, key: str, defaults: DefaultsTable, *, is_needed: bool
) -> tuple[Length, ...]:
    """Distances go with the stations they were written for: a journal with stations of its own
    does not take those of the defaults.
    """
    if table.station_at is not None:
        stations = defaults.stations if table.stations is None else table.stations
        return _distances(table.station_at, stations, f"{key}.station_at")
    if table.stations is None and defaults.station_at is not None:
        return _distances(defaults.station_at, defaults.stations, "defaults.station_at")
    if is_needed:
        raise WrongKey(
            f"{key}.station_at",
            "this key is required where taper is limited per length (taper_per): where each "
            "station lies along the journal",
        )
    return ()


def _no_high(check: CheckPlan, journals: list[JournalPlan]) -> None:
    missing = [
        name for name in ("max_error", "max_spread", "max_drift") if getattr(check, name) is None
    ]
    for journal in journals:
        if journal.limits.high is None and missing:
            raise WrongKey(
                f"check.{missing[0]}",
                f"{journal.name} has no high limit to derive it from, so it must be written",
            )


__all__ = [
    "CheckPlan",
    "DecisionPlan",
    "GroupPlan",
    "JournalPlan",
    "Plan",
    "StudyPlan",
    "TemperaturePlan",
    "Undersize",
    "json_schema",
    "parse_plan",
    "read_plan",
]
