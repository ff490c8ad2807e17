"""Journals of a plan: where each is measured, and its limits, of its own table or the defaults."""

from collections.abc import Mapping, Sequence

import msgspec

from daq.lengths import Length, Limits
from daq.metrology.form import TaperLimit
from daq.plan.fields import (
    check_between,
    check_limit,
    check_name,
    check_positive,
    read_length,
    read_limit,
    read_optional_limit,
)
from daq.plan.groups import GroupPlan, limits_now
from daq.plan.method import StudyPlan
from daq.plan.schema import MOST_REPEATS, DefaultsTable, JournalTable
from drivers.toml_file import WrongKey


class JournalPlan(msgspec.Struct, frozen=True):
    """One journal to measure. `key` is its place in the file, for messages, `group_key` that of its
    group, empty without one; `group_stack` is the stack of its group, a size or a saved name, if
    that has one of its own.

    `limits` are those of the part as it is now; where it has an undersize already, `undersize` is
    that one's name and `standard` holds the limits as stated for the standard size. `station_at`:
    where each station lies along the journal, one per station, or empty. `is_ground`: it must be
    shown to lie under its high limit too, having just been made to it.
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
    is_ground: bool = False

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


def read_journal(
    table: JournalTable,
    key: str,
    defaults: DefaultsTable,
    groups: Mapping[str, GroupPlan],
    study: StudyPlan | None,
    is_ground: bool = False,
) -> JournalPlan:
    """One [[journal]] as written, with what the defaults, its group and a study say of it.

    Raises WrongKey for what is no length, and where the places along it are missing.
    """
    stated = _read_limits(table, key, defaults)
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
        stations=tuple(_stations(table, defaults)),
        angles_deg=tuple(angles),
        repeats=repeats if study is None else study.repeats,
        window=read_length(window, f"{key}.window"),
        group_stack=group.stack,
        group_key=group.key,
        is_after_strip=table.access == "after-strip",
        station_at=_read_station_at(table, key, defaults),
        undersize=group.present_undersize,
        standard=None if limits is stated else stated,
        is_ground=is_ground,
    )


def check_journal(table: JournalTable, key: str, defaults: DefaultsTable) -> None:
    """Refuse a [[journal]] that is wrong in itself; raises WrongKey."""
    check_name(table.name, f"{key}.name")
    check_places(table, key)
    if table.group is not None:
        check_name(table.group, f"{key}.group")
    _check_limits(table, key)
    stated = _stated_station_at(table, key, defaults)
    if stated is not None:
        _check_distances(*stated)
    _read_station_at(table, key, defaults)


# Places -------------------------------------------------------------------------------------------


def check_places(table: DefaultsTable | JournalTable, key: str) -> None:
    """Refuse places that cannot be meant, as far as this table states any; raises WrongKey."""
    for station in table.stations or ():
        check_name(station, f"{key}.stations")
    for angle in table.angles_deg or ():
        check_between(angle, 0, 179, f"{key}.angles_deg")
    for name, values in (("stations", table.stations), ("angles_deg", table.angles_deg)):
        if values is None:
            continue
        if not values:
            raise WrongKey(f"{key}.{name}", "an empty list")
        if len(set(values)) != len(values):
            raise WrongKey(f"{key}.{name}", "the same place twice; use repeats")
    if table.repeats is not None:
        check_between(table.repeats, 1, MOST_REPEATS, f"{key}.repeats")
    check_positive(table.window, f"{key}.window")
    check_positive(table.taper_per, f"{key}.taper_per")
    if table.station_at is not None and table.stations is not None:
        _check_distances(table.station_at, table.stations, f"{key}.station_at")


def _stations(table: JournalTable, defaults: DefaultsTable) -> Sequence[str]:
    return defaults.stations if table.stations is None else table.stations


def _stated_station_at(
    table: JournalTable, key: str, defaults: DefaultsTable
) -> tuple[Sequence[str], Sequence[str], str] | None:
    """The distances that a journal goes by, their stations and their key, if it has any.

    Distances go with the stations they were written for: a journal with stations of its own does
    not take those of the defaults.
    """
    if table.station_at is not None:
        return table.station_at, _stations(table, defaults), f"{key}.station_at"
    if table.stations is None and defaults.station_at is not None:
        return defaults.station_at, defaults.stations, "defaults.station_at"
    return None


def _read_station_at(table: JournalTable, key: str, defaults: DefaultsTable) -> tuple[Length, ...]:
    """One distance for each station, or none at all where taper is not limited per length."""
    stated = _stated_station_at(table, key, defaults)
    if stated is not None:
        return _read_distances(*stated)
    if table.taper is not None and (table.taper_per or defaults.taper_per) is not None:
        raise WrongKey(
            f"{key}.station_at",
            "this key is required where taper is limited per length (taper_per): where each "
            "station lies along the journal",
        )
    return ()


def _read_distances(texts: Sequence[str], stations: Sequence[str], key: str) -> tuple[Length, ...]:
    """Where the stations lie along the journal, one distance for each."""
    if len(texts) != len(stations):
        raise WrongKey(
            key, f"{len(texts)} distances for {len(stations)} stations ({', '.join(stations)[:60]})"
        )
    return tuple(read_length(text, key) for text in texts)


def _check_distances(texts: Sequence[str], stations: Sequence[str], key: str) -> None:
    found = _read_distances(texts, stations, key)
    for place in found:
        if place.value < 0:
            raise WrongKey(key, f"{place} is below zero: count from one end of the journal")
    if len({place.mm for place in found}) != len(found):
        raise WrongKey(key, "two stations at the same distance")


# Limits -------------------------------------------------------------------------------------------


def _read_limits(table: JournalTable, key: str, defaults: DefaultsTable) -> Limits:
    """The limits of one journal as stated."""
    per = table.taper_per or defaults.taper_per
    return Limits(
        low=read_limit(table.low, f"{key}.low"),
        high=read_optional_limit(table.high, f"{key}.high"),
        out_of_round=read_optional_limit(table.out_of_round, f"{key}.out_of_round"),
        taper=read_optional_limit(table.taper, f"{key}.taper"),
        taper_per=None if table.taper is None else read_optional_limit(per, f"{key}.taper_per"),
        is_form_equal_allowed=(table.form_limit or defaults.form_limit) == "not-over",
    )


def _check_limits(table: JournalTable, key: str) -> None:
    check_limit(table.low, f"{key}.low")
    check_limit(table.high, f"{key}.high")
    low = read_limit(table.low, f"{key}.low")
    high = read_optional_limit(table.high, f"{key}.high")
    if high is not None and low.mm >= high.mm:
        raise WrongKey(f"{key}.low", f"limits upside down: low {low} is not under high {high}")
    check_limit(table.taper, f"{key}.taper")
    if table.taper_per is not None and table.taper is None:
        raise WrongKey(f"{key}.taper_per", "there is no limit on taper here")
    check_limit(table.out_of_round, f"{key}.out_of_round")
