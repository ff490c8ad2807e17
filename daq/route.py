"""Journal x station x angle x repeat: the order in which a part is measured."""

from collections.abc import Iterable

import msgspec

from daq.terms import Position


class Stop(msgspec.Struct, frozen=True):
    """One journal on the route. `stations` in order along it, `angles_deg` around it in order."""

    journal: str
    stack: str
    stations: tuple[str, ...]
    angles_deg: tuple[int, ...]
    repeats: int
    is_after_strip: bool


def positions(stop: Stop) -> tuple[Position, ...]:
    """The positions of one journal: station by station, angle by angle, repeat by repeat."""
    return tuple(
        Position(stop.journal, station, angle, repeat)
        for station in stop.stations
        for angle in stop.angles_deg
        for repeat in range(1, stop.repeats + 1)
    )


def route(stops: Iterable[Stop]) -> tuple[Position, ...]:
    """All positions in the order of measuring.

    Journals that are easy to reach come first, since one below its minimum makes stripping the
    rest a waste; among them, those of one stack stay together, so that each stack needs one stint.
    """
    rank: dict[tuple[bool, str], int] = {}
    listed = sorted(stops, key=lambda stop: stop.is_after_strip)
    for stop in listed:
        rank.setdefault((stop.is_after_strip, stop.stack), len(rank))
    ordered = sorted(listed, key=lambda stop: rank[stop.is_after_strip, stop.stack])
    return tuple(position for stop in ordered for position in positions(stop))
