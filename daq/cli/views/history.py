"""A gauge's history for people: what it says, the plots, the last checks. Pure."""

from collections.abc import Sequence
from textwrap import wrap

from daq.cli.views.check_plot import LEAST_WIDTH, legend, plot
from daq.gauges.control import MOST_BASELINE, Mark
from daq.gauges.drift import CONFIDENCE, Drift
from daq.gauges.history import NoteRecord
from daq.gauges.overview import Overview, SizeReport
from daq.gauges.series import Point
from daq.gauges.words import (
    bias_words,
    limits_words,
    mm_text,
    percent,
    precision_words,
    signed_mm,
    size_words,
)
from drivers.printable import printable
from drivers.reading import utc_day, utc_text

LAST_CHECKS = 8


def history_lines(
    overview: Overview,
    notes: Sequence[tuple[int, NoteRecord]],
    *,
    width: int,
    is_ascii: bool = False,
) -> list[str]:
    """Everything for a terminal of `width` columns; `is_ascii` where it shows nothing else."""
    lines = _wrapped([*_head(overview), *_due(overview)], width)
    for report in overview.sizes:
        lines += ["", *_size(report, overview, width=width, is_ascii=is_ascii)]
    said = []
    if notes:
        said += ["", "Notes:"]
        said += [
            f"  {utc_day(at)}  {note.about}: {printable(note.text)}" for at, note in notes[-10:]
        ]
    if overview.damage:
        said += ["", "The file is damaged; nothing of it was changed:"]
        said += [f"  {words}" for words in overview.damage]
    lines += _wrapped(said, width)
    return [_ascii(line) for line in lines] if is_ascii else lines


def _head(overview: Overview) -> list[str]:
    points = [point for report in overview.sizes for point in report.series.points]
    if not points:
        return [f"Gauge {overview.name}: no check yet. Make the first with jbridge prove."]
    first, last = min(p.at_us for p in points), max(p.at_us for p in points)
    lines = [
        f"Gauge {overview.name}: {_count(len(points), 'check')} at {_sizes(overview)}, "
        f"{utc_day(first)} to {utc_day(last)}"
    ]
    if overview.repeatability_dof:
        lines.append(
            f"Repeatability of one reading: s = {mm_text(overview.repeatability_mm)} mm, pooled "
            f"over the passed checks, {overview.repeatability_dof} degrees of freedom "
            "(NIST/SEMATECH e-Handbook 2.4.4)"
        )
    for fault in overview.faults:
        lines.append(f"OUT OF CONTROL at {fault.words}")
    if not overview.faults:
        lines.append("Nothing is out of control.")
    lines += [f"{words[:1].upper()}{words[1:]}." for words in overview.unsettled]
    return lines


def _due(overview: Overview) -> list[str]:
    later = overview.due.reasons[1:]
    lines = [f"{overview.due_words}."]
    if later:
        lines.append("  the earliest of this and:")
        lines += [f"    {reason.on}: {reason.words}" for reason in later]
    return lines


def _size(report: SizeReport, overview: Overview, *, width: int, is_ascii: bool) -> list[str]:
    points = report.series.points
    occasions = sum(1 for point in points if point.is_occasion)
    lines = [
        f"{size_words(report.series)}: {report.state_words}; {_count(len(points), 'check')} on "
        f"{_count(occasions, 'occasion')}",
    ]
    lines += plot(
        report.series,
        report.control,
        overview.adjusted,
        overview.permitted_mm,
        width=width,
        is_ascii=is_ascii,
    )
    shown = legend(report.control, is_ascii=is_ascii, has_adjustment=bool(overview.adjusted))
    said = [
        f"  {shown}. Error = reading - stack, mm, at 20\N{NO-BREAK SPACE}°C where temperatures "
        "are known.",
        *(f"  {text}" for text in _findings(report)),
    ]
    return [*lines, *_wrapped(said, width), *_table(report, width)]


def _wrapped(lines: Sequence[str], width: int) -> list[str]:
    """Lines no longer than `width`; what goes on is indented further."""
    found = []
    for line in lines:
        indent = len(line) - len(line.lstrip())
        found += wrap(
            line,
            max(width, LEAST_WIDTH),
            subsequent_indent=" " * (indent + 2),
            drop_whitespace=True,
            break_on_hyphens=False,
        ) or [""]
    return found


def _findings(report: SizeReport) -> list[str]:
    control = report.control
    mark: Mark = control.marks[-1]
    said = []
    if mark.baseline is not None:
        said.append(f"Bias: {bias_words(mark)}.")
    elif control.next_baseline is not None:
        limits = limits_words(control.next_baseline)
        said.append(f"Bias: {bias_words(mark)}; the next is judged by {limits}.")
    else:
        said.append(
            f"Bias: {bias_words(mark)}: it takes six passed occasions (four hours apart or more) "
            f"since the last adjustment, and uses up to {MOST_BASELINE}."
        )
    if report.precision is not None:
        said.append(f"Precision: {precision_words(report.precision)}.")
    if report.chart is not None:
        said.append(f"Chart: {report.chart.words}.")
    said.append(f"Drift: {drift_words(report.drift)}.")
    return said


def drift_words(drift: Drift | None) -> str:
    """The rate with its confidence."""
    if drift is None:
        return "not known yet; it takes five occasions over two weeks since the last adjustment"
    verdict = "it is real" if drift.is_real else "none that can be told from chance"
    return (
        f"{drift.rate_mm * 1000:+.2f} um a year -+ {drift.half_width_mm * 1000:.2f} um "
        f"({percent(CONFIDENCE)} confidence, least-squares line through {drift.count} occasions, "
        f"ISO/IEC Guide 98-3 H.3): {verdict}; it is not corrected for"
    )


def _table(report: SizeReport, width: int) -> list[str]:
    points = report.series.points
    shown = points[-LAST_CHECKS:]
    outs = {id(mark.point) for mark in report.control.marks if mark.is_in is False}
    title = f"last {len(shown)} checks (UTC)" if len(points) > len(shown) else "check (UTC)"
    lines = [f"  {title:18}  phase    error mm  U mm     s mm     result"]
    for point in shown:
        lines.append("  " + _row(point, report.u_mm(point), is_out=id(point) in outs))
    words = (
        "  U: expanded uncertainty of the error, 95.45 % (stack, repeatability, resolution; "
        "JCGM 100:2008, G.4.1); s: sample standard deviation of one reading."
    )
    return [*lines, *_wrapped([words], width)]


def _row(point: Point, u_mm: float, *, is_out: bool) -> str:
    check = point.check
    sd = mm_text(point.sd_mm) if point.sd_mm is not None else "-"
    result = "passed" if check.passed else "FAILED"
    mark = ", out of control" if is_out else ""
    source = "" if check.source == check.phase else f"  {check.source}"
    return (
        f"{utc_text(point.at_us)[:16].replace('T', ' '):18}  {check.phase:7}  "
        f"{signed_mm(point.error_mm):>8}  {mm_text(u_mm)}  {sd:7}  {result}{mark}"
        f"{printable(source)}"
    )


def _sizes(overview: Overview) -> str:
    shown = _count(len(overview.sizes), "size")
    is_all = len(overview.sizes) == overview.size_count
    return shown if is_all else f"{shown} shown of {overview.size_count}"


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'s' if number != 1 else ''}"


def _ascii(text: str) -> str:
    return (
        text.replace("\N{NO-BREAK SPACE}", " ")
        .replace("°", "deg ")
        .encode("ascii", "replace")
        .decode()
    )
