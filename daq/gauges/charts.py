"""Individuals and moving-range charts of a gauge's occasions. Pure; float mm.

A second look beside the t limits: scatter is taken from neighbours, so a slow wander does not widen
the limits. Source: NIST/SEMATECH e-Handbook 6.3.2.2.
"""

from typing import Any

import msgspec

from daq.gauges.control import LEAST_BASELINE, MOST_BASELINE, Control
from daq.gauges.words import mm_text, signed_mm
from daq.metrology.statistics.charts import individuals, moving_range
from daq.metrology.statistics.constants import d2
from daq.metrology.uncertainty.components import resolution_u
from drivers.reading import utc_day

SOURCE = "NIST/SEMATECH e-Handbook 6.3.2.2"


class GaugeChart(msgspec.Struct, frozen=True):
    """Limits from the first occasions since the last adjustment, at most MOST_BASELINE of them, and
    the moments (microseconds UTC) that lie outside. Lengths in mm.
    """

    count: int
    mean_mm: float
    range_mm: float
    low_mm: float
    high_mm: float
    range_high_mm: float
    out: tuple[int, ...]
    range_out: tuple[int, ...]

    @property
    def words(self) -> str:
        """Limits, and what is outside."""
        said = (
            f"individuals {signed_mm(self.low_mm)} to {signed_mm(self.high_mm)} mm (mean -+ 3 * "
            f"mean moving range {mm_text(self.range_mm)} mm / 1.128), moving range up to "
            f"{mm_text(self.range_high_mm)} mm, from {self.count} occasions ({SOURCE}): "
        )
        found = [f"{utc_day(at)}" for at in self.out]
        jumps = [f"{utc_day(at)}" for at in self.range_out]
        if not found and not jumps:
            return said + "none outside"
        words = []
        if found:
            words.append(f"outside: {_some(found)}")
        if jumps:
            words.append(f"jumped: {_some(jumps)}")
        return said + "; ".join(words)

    def as_dict(self) -> dict[str, Any]:
        """For JSON."""
        return {
            "occasions": self.count,
            "mean_mm": self.mean_mm,
            "mean_moving_range_mm": self.range_mm,
            "low_mm": self.low_mm,
            "high_mm": self.high_mm,
            "moving_range_high_mm": self.range_high_mm,
        }


def _some(days: list[str]) -> str:
    return ", ".join(days[-5:]) + (f" and {len(days) - 5} before" if len(days) > 5 else "")


def chart_of(control: Control, age: int) -> GaugeChart | None:
    """The charts of the occasions since the last adjustment; None for fewer than LEAST_BASELINE."""
    points = [mark.point for mark in control.marks if mark.point.age == age]
    if len(points) < LEAST_BASELINE:
        return None
    errors = [point.error_mm for point in points]
    count = min(len(errors), MOST_BASELINE)
    # Neighbours within one step are often equal, so what the resolution would show is the least.
    least = resolution_u(max(point.step_mm for point in points)) * d2(2)
    single, ranges = individuals(errors, count, least), moving_range(errors, count, least)
    return GaugeChart(
        count=count,
        mean_mm=single.centre,
        range_mm=ranges.centre,
        low_mm=single.low,
        high_mm=single.high,
        range_high_mm=ranges.high,
        out=tuple(points[index].at_us for index in single.out),
        range_out=tuple(points[index + 1].at_us for index in ranges.out),
    )
