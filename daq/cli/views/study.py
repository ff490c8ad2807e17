"""A gauge study for people: both methods side by side, what they mean, what was set to zero.
Pure.
"""

import math
from collections.abc import Sequence
from textwrap import wrap

from daq.gauges.study import (
    CONFIDENCE,
    GOOD_PERCENT,
    LEAST_CATEGORIES,
    LIMIT_PERCENT,
    SPREAD,
    Evaluated,
    step_sd_mm,
)
from daq.lengths import plain
from daq.metrology.statistics.anova import TwoWay, VarianceRow
from daq.metrology.statistics.scatter import (
    INTERACTION,
    OPERATORS,
    PARTS,
    REPEATABILITY,
    StudyScatter,
)
from drivers.printable import printable

UM, SQUARE_UM = 1e3, 1e6
"""Micrometres in a millimetre, and squares of both."""

_NAMES = {
    REPEATABILITY: "repeatability (EV)",
    OPERATORS: "operators (AV)",
    INTERACTION: "operators by parts",
    PARTS: "parts (PV)",
}
_MEANINGS = (
    "EV: the same operator measures the same place again",
    "AV: one operator's readings lie above another's everywhere",
    "operators by parts: operators differ more at some places than at others; the second "
    "method does not know it",
    "GRR: all of the measuring, the root of the sum of those squares; TV: that and the parts. "
    "Shares of TV do not add up to 100 %",
    "distinct categories: how many sizes can be told apart, 1.41 PV / GRR cut to a whole number",
)


def lines(found: Evaluated, width: int = 80) -> list[str]:
    """The whole study as text; sentences are wrapped at `width`, the tables need 80 columns."""
    study = found.study
    count = len(study.parts) * len(study.operators) * study.trials
    text = [
        *_answer(found),
        "",
        f"Gauge study {printable(study.session)}, gauge {printable(study.gauge)}",
        f"{len(study.parts)} parts (places) by {len(study.operators)} operators "
        f"({printable(', '.join(study.operators))}) in {study.trials} trials: {count} readings",
        "",
        "Analysis of variance, squares in um^2",
        *_variance_table(found.variance),
        "",
        "Standard deviations by both methods",
        *_both(found),
        "",
        *(f"  {meaning}" for meaning in _MEANINGS),
        "",
        *_zeroed(found),
        *(f"Note: {remark}." for remark in found.remarks),
        "",
        *_summary(found),
    ]
    return [line for part in text for line in _wrapped(part, width)]


def _answer(found: Evaluated) -> list[str]:
    """Is the gauge good enough, what is in the way most, and what to do."""
    share = found.percent_of_tolerance(found.variance.scatter)
    tolerance = found.study.tolerance_mm
    if share is None or tolerance is None:
        return [
            "No answer: the plan has no high limits, so there is no tolerance to hold the gauge "
            "against.",
            _worst(found),
        ]
    of = f"this tolerance, {plain(tolerance)} mm"
    takes = f"measuring takes {share:.1f} % of it"
    match found.fitness:
        case "good":
            return [f"Good enough for {of}: {takes}."]
        case "may-do":
            return [
                f"May do for {of}: {takes}; under {GOOD_PERCENT} % is good.",
                _worst(found),
            ]
        case _:
            return [
                f"NOT good enough for {of}: {takes}; at most {LIMIT_PERCENT} % may do.",
                _worst(found),
            ]


def _worst(found: Evaluated) -> str:
    """The largest part of the measuring, who it shows at, and what to do about it."""
    scatter, study = found.variance.scatter, found.study
    by_name = {one.name: one.sd for one in scatter.components if one.name != PARTS}
    most = max(by_name, key=lambda name: by_name[name])
    means, ranges = found.ranges.operator_means, found.ranges.operator_ranges
    if most == OPERATORS:
        high = max(range(len(means)), key=lambda at: means[at])
        low = min(range(len(means)), key=lambda at: means[at])
        names = [printable(study.operators[at]) for at in (high, low)]
        return (
            f"Mostly the operators: {names[0]} reads {_mm(means[high] - means[low])} larger than "
            f"{names[1]}. Let all clean, hold and turn alike, by the ratchet, and study again."
        )
    if most == INTERACTION:
        return (
            "Mostly that operators differ from place to place: mark the places, let all measure "
            "exactly there, and study again."
        )
    if scatter.repeatability < step_sd_mm(study):
        return f"The gauge's step of {plain(study.step_mm)} mm is too coarse: use a finer one."
    worst = max(range(len(ranges)), key=lambda at: ranges[at])
    return (
        f"Mostly the repeats: those of {printable(study.operators[worst])} lie furthest apart, "
        f"{_mm(ranges[worst])} on average. Clean anvils and places, use the ratchet, take two "
        "readings a place, or use a finer gauge."
    )


def _mm(mm: float) -> str:
    return f"{mm:.4f} mm"


def _wrapped(text: str, width: int) -> list[str]:
    """A line that is too long, broken between words; rows of a table are left alone."""
    if not text or "  " in text.strip():
        return [text]
    indent = " " * (len(text) - len(text.lstrip()))
    return wrap(text, max(width, 40), subsequent_indent=indent + "  ") or [text]


def _variance_table(variance: TwoWay) -> list[str]:
    against = "pooled" if variance.is_pooled else "operators by parts"
    rows = [("", "squares", "dof", "mean square", "F", "p", "F against")]
    for name, row, of in (
        ("parts", variance.part, against),
        ("operators", variance.operator, against),
        ("operators by parts", variance.interaction, "repeat"),
        ("repeat", variance.repeat, ""),
        ("pooled", variance.error, ""),
        ("total", variance.total, ""),
    ):
        if name == "pooled" and not variance.is_pooled:
            continue
        rows.append((name, *_numbers(row), "" if row.f is None else of))
    p = variance.interaction.p
    if p is None:
        why = "the readings do not scatter at all: repeat and operators by parts are pooled"
    elif variance.is_pooled:
        why = (
            f"operators by parts is not significant (p = {p:.3f}, over {variance.alpha:g}): it "
            "counts as repeatability, and both are pooled"
        )
    else:
        why = (
            f"operators by parts is significant (p = {p:.3g}, not over {variance.alpha:g}): it "
            "stands by itself, and parts and operators are tested against it"
        )
    return [*_aligned(rows), f"  {why}"]


def _numbers(row: VarianceRow) -> tuple[str, str, str, str, str]:
    f = "" if row.f is None else "over all" if math.isinf(row.f) else f"{row.f:.3f}"
    p = "" if row.p is None else "< 0.0001" if row.p < 0.0001 else f"{row.p:.4f}"
    return f"{row.ss * SQUARE_UM:.4f}", str(row.dof), f"{row.ms * SQUARE_UM:.4f}", f, p


def _both(found: Evaluated) -> list[str]:
    methods = (found.variance.scatter, found.ranges.scatter)
    rows = [
        ("", "analysis of", "variance", "average and", "range"),
        ("", "s, um", "% of TV", "s, um", "% of TV"),
    ]
    for name, label in _NAMES.items():
        rows.append((label, *_component(methods[0], name), *_component(methods[1], name)))
        if name == INTERACTION:
            sds = [_sd(scatter, scatter.gauge) for scatter in methods]
            rows.append(("gauge (GRR)", *sds[0], *sds[1]))
    sds = [_sd(scatter, scatter.total) for scatter in methods]
    rows.append(("total (TV)", *sds[0], *sds[1]))
    rows.append(("distinct categories", "", _count(methods[0]), "", _count(methods[1])))
    tolerance = found.study.tolerance_mm
    if tolerance is not None:
        shares = [_percent(found.percent_of_tolerance(scatter)) for scatter in methods]
        label = f"{SPREAD} GRR, % of {plain(tolerance)} mm"
        rows.append((label, "", shares[0], "", shares[1]))
    return _aligned(rows)


def _component(scatter: StudyScatter, name: str) -> tuple[str, str]:
    for component in scatter.components:
        if component.name == name:
            if component.is_zeroed:
                return "0 *", _percent(scatter.percent(0.0))
            if not component.variance and component.estimate:
                return "pooled", ""
            return _sd(scatter, component.sd)
    return "-", ""


def _sd(scatter: StudyScatter, sd_mm: float) -> tuple[str, str]:
    return f"{sd_mm * UM:.4f}", _percent(scatter.percent(sd_mm))


def _percent(percent: float | None) -> str:
    return "" if percent is None else f"{percent:.1f}"


def _count(scatter: StudyScatter) -> str:
    return "-" if scatter.categories is None else str(scatter.categories)


def _zeroed(found: Evaluated) -> list[str]:
    said = []
    for method, scatter in (
        ("analysis of variance", found.variance.scatter),
        ("average and range", found.ranges.scatter),
    ):
        for component in scatter.components:
            if component.is_zeroed:
                said.append(
                    f"* Set to zero ({method}): {_NAMES[component.name]}. Its variance came out as "
                    f"{component.estimate * SQUARE_UM:.4f} um^2; there is no negative one, the "
                    "scatter of the repeats explains what was seen."
                )
    return said or ["Nothing came out negative, so nothing was set to zero."]


def _summary(found: Evaluated) -> list[str]:
    scatter, interval = found.variance.scatter, found.interval
    said = (
        f"One reading repeats with s = {scatter.repeatability * UM:.3f} um, "
        f"{found.variance.repeatability_dof} degrees of freedom"
    )
    if interval is not None:
        said += (
            f" ({100 * CONFIDENCE:.0f} % interval {interval.low_mm * UM:.3f} to "
            f"{interval.high_mm * UM:.3f} um)"
        )
    share = found.percent_of_tolerance(scatter)
    if share is None:
        return [f"{said}."]
    return [
        f"{said}.",
        f"By common practice under {GOOD_PERCENT} % of the tolerance is good and over "
        f"{LIMIT_PERCENT} % is not fit for it, and {LEAST_CATEGORIES} distinct categories or more "
        "are wanted.",
    ]


def _aligned(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """Columns to the right, the first one to the left."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return [
        "  ".join(
            ["", row[0].ljust(widths[0])]
            + [text.rjust(width) for text, width in zip(row[1:], widths[1:], strict=True)]
        ).rstrip()
        for row in rows
    ]
