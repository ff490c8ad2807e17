"""A gauge's history as one JSON document. Pure."""

import json
from typing import Any

from daq.gauges.control import Baseline, Mark
from daq.gauges.drift import Drift
from daq.gauges.history import History
from daq.gauges.overview import Overview, SizeReport
from daq.lengths import plain
from drivers.reading import utc_text


def history_json(overview: Overview, history: History) -> str:
    """Lengths of statistics are numbers in mm, stored ones decimal text; times are UTC."""
    document: dict[str, Any] = {
        "gauge": overview.name,
        "file": history.path,
        "out_of_control": [
            {"size_mm": plain(fault.size_mm), "words": fault.words} for fault in overview.faults
        ],
        "unsettled": list(overview.unsettled),
        "due": {
            "on": str(overview.due.on),
            "why": overview.due.words,
            "reasons": [{"on": str(r.on), "why": r.words} for r in overview.due.reasons],
        },
        "repeatability_mm": overview.repeatability_mm,
        "repeatability_dof": overview.repeatability_dof,
        "sizes": [_size(report) for report in overview.sizes],
        "studies": [
            {
                "at": utc_text(at),
                "source": study.source,
                "repeatability_mm": study.repeatability_mm,
                "dof": study.repeatability_dof,
                "reproducibility_mm": study.reproducibility_mm,
            }
            for at, study in history.studies
        ],
        "notes": [
            {"at": utc_text(at), "about": note.about, "text": note.text}
            for at, note in history.notes
        ],
        "damage": list(overview.damage),
    }
    return json.dumps(document, ensure_ascii=False)


def _size(report: SizeReport) -> dict[str, Any]:
    marks = {id(mark.point): mark for mark in report.control.marks}
    precision = report.precision
    return {
        "size_mm": plain(report.series.size_mm),
        "state": report.control.state,
        "limits": _limits(report.control.next_baseline),
        "precision": None
        if precision is None
        else {
            "limit_mm": precision.limit_mm,
            "pooled_mm": precision.pooled_mm,
            "pooled_dof": precision.pooled_dof,
            "is_in": precision.is_in,
        },
        "drift": _drift(report.drift),
        "chart": None if report.chart is None else report.chart.as_dict(),
        "checks": [
            {
                "at": utc_text(point.at_us),
                "source": point.check.source,
                "check_no": point.check.check_no,
                "phase": point.check.phase,
                "stack": point.check.stack,
                "readings": list(point.check.readings),
                "mean_error_mm": point.check.mean_error_mm,
                "error_20c_mm": point.error_mm,
                "expanded_mm": report.u_mm(point),
                "sd_mm": point.sd_mm,
                "spread_mm": point.check.spread_mm,
                "passed": point.check.passed,
                "is_occasion": point.is_occasion,
                "in_control": _is_in(marks.get(id(point))),
            }
            for point in report.series.points
        ],
    }


def _is_in(mark: Mark | None) -> bool | None:
    return None if mark is None else mark.is_in


def _limits(baseline: Baseline | None) -> dict[str, Any] | None:
    if baseline is None:
        return None
    return {
        "occasions": baseline.count,
        "mean_mm": baseline.mean_mm,
        "sd_mm": baseline.sd_mm,
        "low_mm": baseline.low_mm,
        "high_mm": baseline.high_mm,
        "alpha": baseline.alpha,
    }


def _drift(drift: Drift | None) -> dict[str, Any] | None:
    if drift is None:
        return None
    return {
        "rate_mm_per_year": drift.rate_mm,
        "half_width_mm_per_year": drift.half_width_mm,
        "confidence": 0.95,
        "occasions": drift.count,
        "is_real": drift.is_real,
    }
