"""The history of a gauge as a picture: SVG text, one panel a size. Pure.

Errors are drawn in um; the bars are expanded uncertainties. What is out of control has a sign of
its own and the word beside it; no meaning rests on a colour.
"""

from collections.abc import Iterator, Sequence

from daq.gauges.control import Mark
from daq.gauges.drift import Drift
from daq.gauges.overview import Overview, SizeReport
from daq.gauges.series import Point
from daq.gauges.words import size_words
from daq.pictures.check_axes import DAY_US, LEFT, PANEL_HEIGHT, WIDTH, ChartFrame, axes
from daq.pictures.key import KeySign, key_rows
from daq.pictures.lettering import clean, fitted, text_width, wrapped
from daq.pictures.scale import covering
from daq.pictures.svg import Own, circle, group, line, path, polygon, rect, text
from daq.pictures.svg import picture as drawing
from drivers.reading import utc_day

_HEAD, _FOOT_LINE = 58, 18
_LIMIT, _PERMITTED, _ADJUSTED, _DRIFT = "3 3", "12 4", "7 4", "1 3"
"""Each line has a dash of its own."""


MARK = "<!-- made by jbridge history -->"
"""By this the program knows a picture of its own."""


def picture(overview: Overview) -> str:
    """The SVG document; each panel has the same time axis."""
    shown = overview.sizes
    title = f"Gauge {clean(overview.name)}: error on the stack over time"
    body = [
        text(LEFT, 26, *_title(overview), size=18, is_bold=True, kind="pic-title"),
        *_subtitle(overview),
    ]
    start, end = _span(overview)
    for index, report in enumerate(shown):
        panel = _panel(report, overview, _HEAD + index * PANEL_HEIGHT, start, end)
        body.append(group(panel, "pic-panel", size_words(report.series)))
    if not shown:
        body.append(text(LEFT, _HEAD + 60, "No check is in this history yet."))
    top = _HEAD + PANEL_HEIGHT * max(1, len(shown)) + 12
    foot, bottom = _foot(overview, top)
    about = "; ".join(f"{size_words(one.series)}: {one.state_words}" for one in shown)
    return f"{MARK}\n{drawing(WIDTH, bottom, title, about, [*body, *foot], 'pic-history')}\n"


def _title(overview: Overview) -> tuple[str, ...]:
    rest = ": error on the stack over time"
    room = WIDTH - LEFT - 12 - text_width(f"Gauge {rest}", 18, is_bold=True)
    return "Gauge ", Own(fitted(overview.name, room, 18, is_bold=True)), rest


def _subtitle(overview: Overview) -> Iterator[str]:
    is_out = bool(overview.trouble_short)
    words = overview.trouble_short or overview.due_words
    paint = "ink" if is_out else "quiet"
    for shown in wrapped(words, WIDTH - LEFT - 12, 12, 1, is_bold=is_out):
        yield text(LEFT, 46, shown, size=12, paint=paint, is_bold=is_out, kind="pic-state")


def _foot(overview: Overview, top: float) -> tuple[list[str], float]:
    """What each sign means, and how far down that reaches."""
    has_drift = any(report.drift is not None for report in overview.sizes)
    signs = [
        KeySign(
            lambda x, y: circle(x + 9, y - 4, 3.5, fill="ink"),
            26,
            "last check of an occasion (checks within four hours)",
        ),
        KeySign(
            lambda x, y: circle(x + 9, y - 4, 2.5, fill="paper", stroke="quiet"),
            26,
            "an earlier check of it",
        ),
        KeySign(lambda x, y: _cross(x + 9, y - 4), 26, "out of control"),
        KeySign(
            lambda x, y: line(x + 9, y - 11, x + 9, y + 3, stroke="quiet"),
            26,
            "expanded uncertainty of a check's mean",
        ),
        KeySign(_limits_sign, 26, "limits mean -+ t * s of the occasions before"),
        KeySign(lambda x, y: line(x, y - 4, x + 28, y - 4, dash=_PERMITTED), 34, "permitted error"),
    ]
    if has_drift:
        signs.append(
            KeySign(
                lambda x, y: line(x, y - 4, x + 18, y - 4, stroke="quiet", wide=2),
                26,
                "drift since the last adjustment",
            )
        )
    parts, y = key_rows(signs, LEFT, top, WIDTH - 12, size=11, paint="quiet")
    sources = [
        "Error = reading - stack, mean of a check. Uncertainty: 95 %, of stack, repeatability, "
        "resolution. Limits: NIST/SEMATECH e-Handbook 2.3.5."
    ]
    if has_drift:
        sources.append(
            "Drift: least-squares line with its 95 % confidence band, dotted (ISO/IEC Guide 98-3 "
            "H.3)."
        )
    for words in sources:
        y += _FOOT_LINE
        parts.append(text(LEFT, y, words, size=11, paint="quiet"))
    return parts, y + 14


def _limits_sign(x: float, y: float) -> str:
    lines = [line(x, at, x + 18, at, dash=_LIMIT) for at in (y - 10, y + 2)]
    return rect(x, y - 10, 18, 12, fill="metal") + "".join(lines)


def _span(overview: Overview) -> tuple[int, int]:
    times = [point.at_us for report in overview.sizes for point in report.series.points]
    if not times:
        return 0, 1
    margin = max((max(times) - min(times)) // 50, DAY_US // 8)
    return min(times) - margin, max(times) + margin


def _panel(report: SizeReport, overview: Overview, top: float, start: int, end: int) -> list[str]:
    values = _values(report, overview.permitted_mm)
    low, high, step = covering(min(values), max(values), 8)
    frame = ChartFrame(top, start, end, low, high, step)
    name = size_words(report.series)
    beside = LEFT + max(130.0, text_width(name, 14, is_bold=True) + 16)
    parts = [
        text(LEFT, top + 22, name, size=14, is_bold=True, kind="pic-name"),
        text(beside, top + 22, report.state_words, is_bold=report.is_out, kind="pic-state"),
        *_levels(report, overview, frame),
        *axes(frame),
        *_adjusted(overview.adjusted, frame),
    ]
    if report.drift is not None:
        parts += _drift(report.drift, report.series.last.at_us, frame)
    parts += [_bar(point, report.u_mm(point), frame) for point in report.series.points]
    for point in report.series.points:
        if not point.is_occasion:
            x, y = frame.x(point.at_us), frame.y(point.error_mm)
            parts.append(circle(x, y, 2.5, fill="paper", stroke="quiet", kind="pic-early"))
    for mark in report.control.marks:
        parts += _mark(mark, frame)
    return parts


def _values(report: SizeReport, permitted_mm: float | None) -> list[float]:
    """What the error axis must hold; a far permitted error is left outside."""
    values = [0.0]
    for point in report.series.points:
        u_mm = report.u_mm(point)
        values += [point.error_mm - u_mm, point.error_mm + u_mm]
    baseline = report.control.next_baseline
    if baseline is not None:
        values += [baseline.low_mm, baseline.high_mm]
    most = max(abs(value) for value in values)
    if permitted_mm is not None and permitted_mm < 3 * most:
        values += [permitted_mm, -permitted_mm]
    return values


def _levels(report: SizeReport, overview: Overview, frame: ChartFrame) -> list[str]:
    """The limits and the permitted error with their names at the right edge; limits hold since the
    last adjustment only.
    """
    permitted_mm = overview.permitted_mm
    since_us = max(overview.adjusted, default=frame.start)
    levels: list[tuple[float, str, str]] = []
    parts = []
    baseline = report.control.next_baseline
    if baseline is not None:
        high, low = frame.y(baseline.high_mm), frame.y(baseline.low_mm)
        left = frame.x(max(frame.start, since_us))
        parts.append(
            rect(left, high, frame.right - left, low - high, fill="metal", kind="pic-band")
        )
        levels += [
            (baseline.high_mm, _LIMIT, f"limit {baseline.high_mm * 1000:+.2f}"),
            (baseline.mean_mm, "", f"mean {baseline.mean_mm * 1000:+.2f}"),
            (baseline.low_mm, _LIMIT, f"limit {baseline.low_mm * 1000:+.2f}"),
        ]
    if permitted_mm is not None and permitted_mm <= frame.high + 1e-9:
        for value in (permitted_mm, -permitted_mm):
            levels.append((value, _PERMITTED, f"permitted {value * 1000:+g}"))
    lowest = -1e9
    for value, dash, name in sorted(levels, reverse=True):
        y = frame.y(value)
        lowest = max(y, lowest + 13)
        left = LEFT if dash == _PERMITTED else frame.x(max(frame.start, since_us))
        wide = 1.4 if dash == _PERMITTED else 1
        parts.append(line(left, y, frame.right, y, wide=wide, dash=dash, kind="pic-level"))
        parts.append(text(frame.right + 6, lowest + 4, name, size=11))
    return parts


def _adjusted(moments: Sequence[int], frame: ChartFrame) -> list[str]:
    parts = []
    for at_us in moments:
        if frame.start <= at_us <= frame.end:
            x = frame.x(at_us)
            top, words = frame.y(frame.high), f"adjusted {utc_day(at_us)}"
            parts.append(line(x, top, x, frame.floor, dash=_ADJUSTED, kind="pic-adjusted"))
            left = min(x + 4, WIDTH - 4 - text_width(words, 11))
            parts.append(text(left, top - 4, words, size=11))
    return parts


def _drift(drift: Drift, until_us: int, frame: ChartFrame) -> list[str]:
    moments = [drift.start_us + (until_us - drift.start_us) * i // 24 for i in range(25)]
    lines: tuple[list[tuple[float, float]], ...] = ([], [], [])
    for at_us in moments:
        value, half = drift.at(at_us)
        for points, at in zip(lines, (value, value + half, value - half), strict=True):
            # Within the panel: what lies outside is drawn on its edge.
            points.append((frame.x(at_us), frame.y(min(frame.high, max(frame.low, at)))))
    middle, *bounds = lines
    band = [
        polygon(points, stroke="quiet", dash=_DRIFT, is_open=True, kind="pic-bound")
        for points in bounds
    ]
    return [*band, polygon(middle, stroke="quiet", wide=2, is_open=True, kind="pic-drift")]


def _bar(point: Point, u_mm: float, frame: ChartFrame) -> str:
    x = frame.x(point.at_us)
    high, low = frame.y(point.error_mm + u_mm), frame.y(point.error_mm - u_mm)
    return line(x, high, x, low, stroke="quiet", kind="pic-bar")


def _mark(mark: Mark, frame: ChartFrame) -> Iterator[str]:
    x, y = frame.x(mark.point.at_us), frame.y(mark.point.error_mm)
    if mark.is_in is not False:
        yield circle(x, y, 3.5, fill="ink", kind="pic-good")
        return
    yield group([_cross(x, y)], "pic-bad", f"{utc_day(mark.point.at_us)}: out of control")
    near_edge = x + 10 + text_width("out", 12, is_bold=True) > frame.right
    anchor, side = ("end", -9) if near_edge else ("start", 9)
    yield text(x + side, y + 4, "out", size=12, anchor=anchor, is_bold=True, paint="bad")


def _cross(x: float, y: float) -> str:
    """The sign of what is out of control."""
    slants = f"M{x - 6:.1f} {y - 6:.1f}l12 12m0 -12l-12 12"
    return path(slants, stroke="bad", wide=2.6)
