"""A gauge study for programs, and its result kept in the gauge's history."""

import math
from pathlib import Path
from typing import Any

from daq.errors import SettingsError
from daq.gauges.history import StudyRecord, history_name
from daq.gauges.study import Evaluated
from daq.lengths import plain
from daq.metrology.statistics.anova import VarianceRow
from daq.metrology.statistics.scatter import StudyScatter
from daq.storage.history_file import append_study, history_path
from daq.version import __version__


def keep_study(found: Evaluated, home: Path) -> str:
    """Store the result by analysis of variance; gives words about it.

    Raises SettingsError for a port that says nothing of its gauge, HistoryNotWritten.
    """
    study = found.study
    name = history_name(study.gauge if study.has_gauge_file else None, study.device)
    if not name:
        raise SettingsError(
            f"--keep: nobody can know the gauge on {study.device} again, so it has no "
            "history to keep the study in. Measure with --gauge NAME, a gauge file of its "
            "own"
        )
    is_new = append_study(name, home, study.ended_us, record(found))
    path = history_path(name, home)
    return f"Kept in {path}." if is_new else f"This study stands in {path} already."


def record(found: Evaluated) -> StudyRecord:
    """The line of the history. Pure."""
    study, variance = found.study, found.variance
    p = variance.interaction.p
    shown = "no scatter" if p is None else f"p = {p:.4f}"
    return StudyRecord(
        source=study.session,
        gauge=study.gauge,
        device=study.device,
        repeatability_mm=f"{variance.scatter.repeatability:.7f}",
        repeatability_dof=str(variance.repeatability_dof),
        reproducibility_mm=f"{variance.scatter.reproducibility:.7f}",
        reproducibility_dof=str(variance.operator.dof),
        parts=len(study.parts),
        operators=len(study.operators),
        trials=study.trials,
        interaction=f"{'pooled' if variance.is_pooled else 'significant'}: {shown}",
        size_mm=plain(study.lows[0].mm) if len(study.lows) == 1 else "",
        program=__version__,
    )


def document(found: Evaluated) -> dict[str, Any]:
    """Everything of a study for programs: standard deviations in mm, as binary numbers. Pure."""
    study, variance, ranges = found.study, found.variance, found.ranges
    return {
        "session_id": study.session,
        "gauge": study.gauge,
        "parts": list(study.parts),
        "operators": list(study.operators),
        "trials": study.trials,
        "tolerance_mm": None if study.tolerance_mm is None else plain(study.tolerance_mm),
        "analysis_of_variance": {
            "parts": _row(variance.part),
            "operators": _row(variance.operator),
            "operators_by_parts": _row(variance.interaction),
            "repeat": _row(variance.repeat),
            "total": _row(variance.total),
            "alpha": variance.alpha,
            "is_interaction_pooled": variance.is_pooled,
            "repeatability_degrees_of_freedom": variance.repeatability_dof,
            "repeatability_interval_mm": (
                None if found.interval is None else [found.interval.low_mm, found.interval.high_mm]
            ),
            **_scatter(found, variance.scatter),
        },
        "average_and_range": {
            "operator_ranges_mm": list(ranges.operator_ranges),
            "operator_means_mm": list(ranges.operator_means),
            "mean_range_mm": ranges.mean_range,
            "mean_difference_mm": ranges.mean_difference,
            "part_range_mm": ranges.part_range,
            "factors": [ranges.k1, ranges.k2, ranges.k3],
            **_scatter(found, ranges.scatter),
        },
        "remarks": list(found.remarks),
    }


def _row(row: VarianceRow) -> dict[str, Any]:
    is_endless = row.f is not None and math.isinf(row.f)
    return {
        "sum_of_squares_mm2": row.ss,
        "degrees_of_freedom": row.dof,
        "mean_square_mm2": row.ms,
        "f": None if is_endless else row.f,
        "p": row.p,
    }


def _scatter(found: Evaluated, scatter: StudyScatter) -> dict[str, Any]:
    return {
        "components": [
            {
                "name": component.name,
                "estimate_mm2": component.estimate,
                "sd_mm": component.sd,
                "percent_of_total": scatter.percent(component.sd),
            }
            for component in scatter.components
        ],
        "gauge_mm": scatter.gauge,
        "gauge_percent_of_total": scatter.percent(scatter.gauge),
        "gauge_percent_of_tolerance": found.percent_of_tolerance(scatter),
        "total_mm": scatter.total,
        "distinct_categories": scatter.categories,
        "set_to_zero": list(scatter.zeroed),
    }
