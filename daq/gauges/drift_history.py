"""How far a gauge drifts within one stint, by what it did in earlier ones. Pure.

Before the closing check of a stint nobody knows its drift; what the same gauge did in other stints
is the best there is to go by.
"""

import math
from collections.abc import Iterator
from fractions import Fraction

import msgspec

from daq.gauges.history import PROVE, CheckRecord, History
from daq.metrology.statistics.samples import exact_mean
from drivers.reading import utc_day

LEAST_STINTS = 5
"""Stints before their drift is a standard deviation to go by: with fewer Student's t makes more of
it than the drift that a check permits. Chosen by us."""


class StintDrifts(msgspec.Struct, frozen=True):
    """The root mean square of the drifts of `count` stints about zero, in mm: of so many degrees of
    freedom, since no mean was taken off. `words` say which stints.
    """

    sd_mm: float
    count: int
    words: str


def drift_history(history: History) -> StintDrifts | None:
    """What the stints since the gauge was last adjusted drifted, None if they are too few.

    One value a stint: its last passed check's mean error less that of its passed before-check.
    """
    found = list(_drifts(history))
    if len(found) < LEAST_STINTS:
        return None
    squares = sum((drift * drift for _, drift in found), Fraction(0))
    first, last = (utc_day(at_us) for at_us in (found[0][0], found[-1][0]))
    return StintDrifts(
        sd_mm=math.sqrt(squares / len(found)),
        count=len(found),
        words=f"drift found {len(found)} times in its history, {first} to {last}",
    )


def _drifts(history: History) -> Iterator[tuple[int, Fraction]]:
    """The time (microseconds UTC) of the before-check and the drift of each stint that has one, in
    order of time.
    """
    since = max(history.adjusted, default=None)
    before: dict[tuple[str, int], tuple[int, CheckRecord]] = {}
    last: dict[tuple[str, int], CheckRecord] = {}
    for at_us, check in history.checks:
        if check.source == PROVE or not check.passed or (since is not None and at_us < since):
            continue
        stint = (check.source, check.stint)
        if check.phase == "before":
            before[stint] = (at_us, check)
        elif stint in before:
            last[stint] = check
    for stint, (at_us, check) in before.items():
        if stint in last:
            yield at_us, exact_mean(last[stint].errors) - exact_mean(check.errors)
