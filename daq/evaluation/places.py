"""A journal's readings gathered by place: what was read, and the best estimate of each. Pure."""

from collections.abc import Callable, Sequence
from fractions import Fraction

import msgspec

from daq.evaluation.conditions import Conditions
from daq.metrology.statistics.samples import exact_mean
from daq.record.standing import PartReading


class Place(msgspec.Struct, frozen=True):
    """One place: its readings averaged. `operator`: whose turn it was in a study, from 0.

    `read_mm`: mean as the gauge showed it; `y_mm`: the estimate at 20 degrees Celsius; `about`: the
    conditions of its last reading.
    """

    operator: int
    station: str
    angle_deg: int
    count: int
    read_mm: Fraction
    y_mm: Fraction
    about: Conditions

    @property
    def at(self) -> str:
        """Station and angle as the tables name them."""
        return f"{self.station}/{self.angle_deg}"

    @property
    def row(self) -> tuple[int, str]:
        """What it shares with the places around it: operator and station."""
        return self.operator, self.station


def places(
    taken: Sequence[PartReading],
    about: Callable[[PartReading], Conditions],
    operator: Callable[[int], int] = lambda repeat: 0,
) -> tuple[Place, ...]:
    """The places of readings in route order. `about` gives the conditions of a reading, `operator`
    whose turn a repeat is.

    Repeats between the same checks share their error; of a place with repeats in several brackets
    each reading is corrected by its own, and the place counts as of its last reading.
    """
    found: dict[tuple[int, str, int], list[PartReading]] = {}
    for each in taken:
        at = each.position
        found.setdefault((operator(at.repeat), at.station, at.angle_deg), []).append(each)
    return tuple(_place(*key, readings, about) for key, readings in found.items())


def _place(
    operator: int,
    station: str,
    angle_deg: int,
    readings: Sequence[PartReading],
    about: Callable[[PartReading], Conditions],
) -> Place:
    each_about = [about(each) for each in readings]
    last = each_about[max(range(len(readings)), key=lambda number: readings[number].seq)]
    mean = exact_mean([each.mm for each in readings])
    if all(one is last for one in each_about):
        y = last.estimate(mean)
    else:
        corrected = [
            one.estimate(Fraction(each.mm)) for one, each in zip(each_about, readings, strict=True)
        ]
        y = sum(corrected, Fraction(0)) / len(corrected)
    return Place(operator, station, angle_deg, len(readings), mean, y, last)
