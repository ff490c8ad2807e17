"""A gauge study by both methods, and what has to be said of it. Pure.

Standard deviations are floats in mm.
"""

import math
from typing import Literal

import msgspec

from daq.gauges.study_data import Gathered
from daq.lengths import plain
from daq.metrology.statistics.anova import TwoWay, two_way
from daq.metrology.statistics.distributions import chi2_quantile
from daq.metrology.statistics.range_study import RangeStudy, average_and_range
from daq.metrology.statistics.scatter import StudyScatter
from daq.metrology.uncertainty.components import resolution_u

CONFIDENCE = 0.95

SPREAD = 6
"""Standard deviations that are set against a tolerance. Source: AIAG measurement systems analysis
(from memory)."""


GOOD_PERCENT, LIMIT_PERCENT, LEAST_CATEGORIES = 10, 30, 5
"""Common practice (AIAG measurement systems analysis, from memory)."""

Fitness = Literal["good", "may-do", "no", "unknown"]


class Interval(msgspec.Struct, frozen=True):
    """Where the true standard deviation lies, in mm, with the probability `CONFIDENCE`."""

    low_mm: float
    high_mm: float


class Evaluated(msgspec.Struct, frozen=True):
    """A study by analysis of variance and by average and range. `interval` is that of the
    repeatability by the first, None where it shows no scatter. `remarks` are sentences.
    """

    study: Gathered
    variance: TwoWay
    ranges: RangeStudy
    interval: Interval | None
    remarks: tuple[str, ...]

    def percent_of_tolerance(self, scatter: StudyScatter) -> float | None:
        """6 x GRR as a percentage of the smallest tolerance; None without one."""
        tolerance = self.study.tolerance_mm
        return None if tolerance is None else 100 * SPREAD * scatter.gauge / float(tolerance)

    @property
    def fitness(self) -> Fitness:
        """Is the measuring good enough for the smallest tolerance, by analysis of variance:
        `unknown` where there is none.
        """
        share = self.percent_of_tolerance(self.variance.scatter)
        if share is None:
            return "unknown"
        if share < GOOD_PERCENT:
            return "good"
        return "may-do" if share <= LIMIT_PERCENT else "no"


def evaluate(study: Gathered) -> Evaluated:
    """Both methods over the same readings."""
    variance = two_way(study.sizes_mm)
    return Evaluated(
        study=study,
        variance=variance,
        ranges=average_and_range(study.sizes_mm),
        interval=_interval(variance.scatter.repeatability, variance.repeatability_dof),
        remarks=tuple(_remarks(study, variance)),
    )


def _interval(sd_mm: float, dof: int) -> Interval | None:
    """Of a standard deviation of normal readings. Source: NIST/SEMATECH e-Handbook 1.3.5.8."""
    if not sd_mm:
        return None
    beyond = (1 - CONFIDENCE) / 2
    return Interval(
        sd_mm * math.sqrt(dof / chi2_quantile(1 - beyond, dof)),
        sd_mm * math.sqrt(dof / chi2_quantile(beyond, dof)),
    )


def _remarks(study: Gathered, variance: TwoWay) -> list[str]:
    found = []
    least = step_sd_mm(study)
    if variance.scatter.repeatability < least:
        found.append(
            f"the readings repeat better than one step of {plain(study.step_mm)} mm shows "
            f"(rounding alone gives s = {least * 1000:.3f} um): the gauge is too coarse for "
            "this study, and repeats no better than that"
        )
    if len(study.lows) > 1:
        found.append(
            f"the parts have {len(study.lows)} nominal sizes "
            f"({', '.join(map(str, study.lows[:4]))}{', ...' * (len(study.lows) > 4)}), so "
            "only the share of the tolerance tells of the gauge, not the scatter of parts, "
            "the shares of the total or the distinct categories"
        )
    if len(study.operators) == 2:
        found.append(
            "with two operators it is hardly known how far operators differ; take three or more"
        )
    if study.stints > 1:
        found.append(
            f"the gauge was checked or set anew {study.stints} times in the study: what "
            "that does is in it"
        )
    return found


def step_sd_mm(study: Gathered) -> float:
    """Standard uncertainty of rounding to one step."""
    return resolution_u(float(study.step_mm))
