"""A gauge's checks by size: what is compared with what. Pure.

Error = indication - true size, in mm, stated at 20 degrees Celsius where both temperatures were
given. Statistics are floats; nothing here is compared with a limit of a part.
"""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.gauges.history import CheckRecord, History
from daq.lengths import EXACT
from daq.metrology.statistics.samples import exact_mean

SAME_SIZE_MM = Decimal("0.01")
"""Stacks that differ by no more are one size: other blocks of the same nominal length do. A
micrometer's screw error repeats every 0.5 mm, so sizes further apart are not. Chosen by us."""

OCCASION_US = 4 * 3600 * 1_000_000
"""Checks at one size within four hours of the first are one occasion, and its last check counts:
measurements close together in time agree with each other better than with tomorrow's, so limits
made of them would be too narrow. Source: NIST/SEMATECH e-Handbook 2.1.2 (check standards, values
correlated in time); the four hours are chosen by us, the usual longest age of a check."""


class Point(msgspec.Struct, frozen=True):
    """One check. `error_mm` and `sd_mm` (None for one reading) are those of its readings;
    `is_occasion`: the last check of its occasion; `age` counts the adjustments of the gauge before
    it.
    """

    at_us: int
    check: CheckRecord
    error_mm: float
    sd_mm: float | None
    is_occasion: bool
    age: int

    @property
    def step_mm(self) -> float:
        """The gauge's resolution."""
        return float(self.check.resolution_mm)

    @property
    def dof(self) -> int:
        """Degrees of freedom of `sd_mm`."""
        return len(self.check.readings) - 1


class Series(msgspec.Struct, frozen=True):
    """The checks at one size in order of time; `size_mm` is that of the latest."""

    size_mm: Decimal
    points: tuple[Point, ...]

    @property
    def last(self) -> Point:
        """The latest check."""
        return self.points[-1]


def error_at_20c(check: CheckRecord) -> Fraction:
    """The mean error in mm at 20 degrees Celsius; as read unless both temperatures are given.

    A warm stack is longer than stated, a warm gauge shows less, so
    e = mean - L * (a_stack * (T_stack - 20) - a_gauge * (T_gauge - 20)). Source: ISO 1; derived, to
    the first order: the rest is under 10 nm at 500 mm and 10 K.
    """
    mean = exact_mean(check.errors)
    texts = (check.gauge_temp_c, check.stack_temp_c, check.gauge_per_k, check.stack_per_k)
    if not all(texts):
        return mean
    gauge_c, stack_c, gauge_per_k, stack_per_k = map(Fraction, texts)
    grown = stack_per_k * (stack_c - 20) - gauge_per_k * (gauge_c - 20)
    return mean - Fraction(check.stack_size_mm) * grown


def series_of(history: History) -> tuple[Series, ...]:
    """The checks of a history by size, ascending."""
    groups: list[tuple[Decimal, list[tuple[int, CheckRecord]]]] = []
    for at_us, check in history.checks:
        size = Decimal(check.stack_size_mm)
        for first, members in groups:
            if EXACT.subtract(size, first).copy_abs() <= SAME_SIZE_MM:
                members.append((at_us, check))
                break
        else:
            groups.append((size, [(at_us, check)]))
    found = [_series(members, history.adjusted) for _, members in groups]
    return tuple(sorted(found, key=lambda series: series.size_mm))


def _series(members: Sequence[tuple[int, CheckRecord]], adjusted: Sequence[int]) -> Series:
    ages = [sum(1 for at in adjusted if at <= at_us) for at_us, _ in members]
    begins: list[int] = []  # of each member's occasion
    for index, (at_us, _) in enumerate(members):
        is_same = index > 0 and ages[index] == ages[index - 1]
        is_near = is_same and at_us - begins[-1] < OCCASION_US
        begins.append(begins[-1] if is_near else at_us)
    points = []
    for index, (at_us, check) in enumerate(members):
        following = index + 1
        is_last = following == len(members) or (
            begins[following] != begins[index] or ages[following] != ages[index]
        )
        points.append(
            Point(
                at_us=at_us,
                check=check,
                error_mm=float(error_at_20c(check)),
                sd_mm=float(check.sd_mm) if check.sd_mm else None,
                is_occasion=is_last,
                age=ages[index],
            )
        )
    return Series(Decimal(members[-1][1].stack_size_mm), tuple(points))
