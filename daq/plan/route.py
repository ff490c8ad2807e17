"""Journal x station x angle x repeat: the order in which a part is measured."""

from collections.abc import Iterable
from hashlib import sha256

import msgspec

from daq.lengths import Position


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
    return tuple(p for stops in _by_stack(stops) for stop in stops for p in positions(stop))


def _by_stack(stops: Iterable[Stop]) -> list[list[Stop]]:
    """Open ones before those to strip, and among them one list for each stack."""
    found: dict[tuple[bool, str], list[Stop]] = {}
    for stop in sorted(stops, key=lambda stop: stop.is_after_strip):
        found.setdefault((stop.is_after_strip, stop.stack), []).append(stop)
    return list(found.values())


# A gauge study ------------------------------------------------------------------------------------


class Turn(msgspec.Struct, frozen=True):
    """Whose turn it is in a study: the operator counts from 0, the trial from 1."""

    operator: int
    trial: int


def turn_of(repeat: int, operators: int) -> Turn:
    """What the repeats at one place mean in a study: operator by operator, trial by trial."""
    return Turn((repeat - 1) % operators, (repeat - 1) // operators + 1)


def repeat_of(turn: Turn, operators: int) -> int:
    """The inverse of `turn_of`."""
    return (turn.trial - 1) * operators + turn.operator + 1


def study_route(
    stops: Iterable[Stop], operators: int, trials: int, seed: int
) -> tuple[Position, ...]:
    """All positions of a study: trial by trial, in a trial operator by operator, and each of them
    all journals in an order of its own, journals of one stack together.

    The order is random to the people and the same for ever: by SHA-256 of `seed/trial/operator/`
    and the place (no generator of random numbers is promised to stay as it is for years). Within
    a journal its places are in such an order too. Chosen by us; that parts go in random order is
    common practice (AIAG measurement systems analysis, from memory).
    """
    turns = [(trial, operator) for trial in range(1, trials + 1) for operator in range(operators)]
    found = []
    for alike in _by_stack(stops):
        for trial, operator in turns:
            repeat = repeat_of(Turn(operator, trial), operators)
            drawn = f"{seed}/{trial}/{operator}"
            for stop in sorted(alike, key=lambda stop: _draw(f"{drawn}/{stop.journal}")):
                places = [
                    Position(stop.journal, station, angle, repeat)
                    for station in stop.stations
                    for angle in stop.angles_deg
                ]
                found += sorted(places, key=lambda p: _draw(f"{drawn}/{p.journal}/{p.place}"))
    return tuple(found)


def _draw(text: str) -> bytes:
    return sha256(text.encode()).digest()
