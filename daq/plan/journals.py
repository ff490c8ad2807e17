"""Journals of a plan: where each is measured, and its limits, wherever the plan states them."""

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import Literal, TypeVar

import msgspec

from daq.lengths import Length, Limits
from daq.metrology.form import TaperLimit
from daq.plan.examples import missing, written
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
from daq.plan.levels import Told
from daq.plan.method import StudyPlan
from daq.plan.schema import MOST_REPEATS, JournalKeys, JournalKind
from drivers.toml_file import WrongKey

_T = TypeVar("_T")


class JournalPlan(msgspec.Struct, frozen=True, dict=True):
    """One journal to measure. `key` is its place in the file, for messages, shared by journals that
    one table names together; `group_key` is that of its group, empty without one; `group_stack` is
    the stack of its group, a size or a saved name, if that has one of its own.

    `limits` are those of the part as it is now; where it has an undersize already, `undersize` is
    that one's name and `standard` holds the limits as stated for the standard size. `station_at`:
    where each station lies along the journal, one per station, or empty. `is_ground`: it must be
    shown to lie under its high limit too, having just been made to it. `kind`: what it is drawn as,
    "" where the plan does not say.
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
    kind: JournalKind | Literal[""] = ""

    @cached_property
    def station_order(self) -> Mapping[str, int]:
        """Where along the journal each station comes."""
        return {name: index for index, name in enumerate(self.stations)}

    @cached_property
    def angle_order(self) -> Mapping[int, int]:
        """Where at a station each angle comes."""
        return {degrees: index for index, degrees in enumerate(self.angles_deg)}

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
    told: Told, groups: Mapping[str, GroupPlan], study: StudyPlan | None, is_ground: bool = False
) -> JournalPlan:
    """One journal as written, with what its group and a study make of it.

    Raises WrongKey for what is no length, and where a low limit or the places along it are missing.
    """
    table = told.table
    stated = _read_limits(told)
    group = groups.get(told.group) or GroupPlan(key="", name="")
    limits = limits_now(group, stated)
    return JournalPlan(
        key=told.key,
        name=told.name,
        group=told.group,
        limits=limits,
        stations=tuple(_said(table.stations)),
        angles_deg=tuple(_said(table.angles_deg)),
        repeats=_said(table.repeats) if study is None else study.repeats,
        window=read_length(_said(table.window), told.at("window")),
        group_stack=group.stack,
        group_key=group.key,
        is_after_strip=table.access == "after-strip",
        station_at=_read_station_at(told),
        undersize=group.present_undersize,
        standard=None if limits is stated else stated,
        is_ground=is_ground,
        kind=table.kind or "",
    )


def check_journal(told: Told) -> None:
    """Refuse a journal whose values do not go together, wherever they stand; raises WrongKey."""
    limits = _read_limits(told)
    low, high = limits.low, limits.high
    if high is not None and low.mm >= high.mm:
        raise WrongKey(
            f"{told.key}.low",
            f"limits upside down: low {low} is not under high {high} of {told.name}. Exchange them "
            "if they are the wrong way round; else see the manual",
        )
    is_own = told.table.taper_per is not None and "taper_per" not in told.elsewhere
    if is_own and told.table.taper is None:
        raise WrongKey(
            f"{told.key}.taper_per",
            f"there is no limit on taper here: write {written('taper')} too, or take this out",
        )
    if told.table.station_at is not None:
        _check_distances(told.table.station_at, _said(told.table.stations), told.at("station_at"))
    _read_station_at(told)


# Each value in itself -----------------------------------------------------------------------------


def check_stated(table: JournalKeys, key: str) -> None:
    """Refuse what a table says of journals where it cannot be meant; raises WrongKey."""
    check_places(table, key)
    for word in ("low", "high", "taper", "out_of_round"):
        check_limit(getattr(table, word), f"{key}.{word}")


def check_places(table: JournalKeys, key: str) -> None:
    """Refuse places that cannot be meant, as far as this table states any; raises WrongKey."""
    for station in table.stations or ():
        check_name(station, f"{key}.stations")
    for angle in table.angles_deg or ():
        check_between(angle, 0, 179, f"{key}.angles_deg")
    for name, values in (("stations", table.stations), ("angles_deg", table.angles_deg)):
        if values is None:
            continue
        if not values:
            raise WrongKey(
                f"{key}.{name}", f"an empty list: write at least one, like {written(name)}"
            )
        if len(set(values)) != len(values):
            raise WrongKey(
                f"{key}.{name}", "the same place twice. To read it several times write repeats = 2"
            )
    if table.repeats is not None:
        check_between(table.repeats, 1, MOST_REPEATS, f"{key}.repeats")
    check_positive(table.window, f"{key}.window")
    check_positive(table.taper_per, f"{key}.taper_per")
    if table.station_at is not None and table.stations is not None:
        _check_distances(table.station_at, table.stations, f"{key}.station_at")


# Places -------------------------------------------------------------------------------------------


def _said(value: _T | None) -> _T:
    """A value that [defaults] has where nobody says it."""
    assert value is not None
    return value


def _read_station_at(told: Told) -> tuple[Length, ...]:
    """One distance for each station, or none at all where taper is not limited per length."""
    table = told.table
    if table.station_at is not None:
        return _read_distances(table.station_at, _said(table.stations), told.at("station_at"))
    if table.taper is not None and table.taper_per is not None:
        raise WrongKey(
            f"{told.key}.station_at",
            "missing. Where taper is limited per length (taper_per), write where each station "
            f"lies along the journal: {written('station_at')}",
        )
    return ()


def _read_distances(texts: Sequence[str], stations: Sequence[str], key: str) -> tuple[Length, ...]:
    """Where the stations lie along the journal, one distance for each."""
    if len(texts) != len(stations):
        raise WrongKey(
            key,
            f"{len(texts)} distances for {len(stations)} stations ({', '.join(stations)[:60]}): "
            "write one for each, in their order",
        )
    return tuple(read_length(text, key) for text in texts)


def _check_distances(texts: Sequence[str], stations: Sequence[str], key: str) -> None:
    found = _read_distances(texts, stations, key)
    for place in found:
        if place.value < 0:
            raise WrongKey(
                key, f"{place} is below zero: measure all of them from one end of the journal"
            )
    if len({place.mm for place in found}) != len(found):
        raise WrongKey(key, "two stations at the same distance: each needs a place of its own")


# Limits -------------------------------------------------------------------------------------------


def _read_limits(told: Told) -> Limits:
    """The limits of one journal as stated."""
    table = told.table
    if table.low is None:
        raise missing(f"{told.key}.low", "journal.low")
    per = None if table.taper is None else table.taper_per
    return Limits(
        low=read_limit(table.low, told.at("low")),
        high=read_optional_limit(table.high, told.at("high")),
        out_of_round=read_optional_limit(table.out_of_round, told.at("out_of_round")),
        taper=read_optional_limit(table.taper, told.at("taper")),
        taper_per=read_optional_limit(per, told.at("taper_per")),
        is_form_equal_allowed=table.form_limit == "not-over",
    )
