"""The history of a gauge as a picture: SVG text, one panel a size. Pure.

Nothing but shapes and text, so any browser shows it and any program can place it. Errors are drawn
in um; the bars are expanded uncertainties.
"""

from collections.abc import Sequence
from datetime import UTC, datetime
from xml.sax.saxutils import escape

import msgspec

from daq.gauges.control import Mark
from daq.gauges.drift import Drift
from daq.gauges.overview import Overview, SizeReport
from daq.gauges.series import Point
from daq.gauges.words import size_words
from daq.pictures.scale import covering, nice_step
from drivers.printable import printable
from drivers.reading import utc_day

WIDTH, PANEL_HEIGHT = 960, 300
_LEFT, _RIGHT, _TOP, _BOTTOM = 64, 118, 46, 34
_HEAD, _FOOT_LINE = 58, 16
_DAY_US = 86_400_000_000
_TICKS_DAYS = (1, 2, 7, 14, 30, 61, 91, 183, 365, 731, 1826)

_STYLE = """
text { font: 12px sans-serif; fill: #222 }
.title { font-size: 18px; font-weight: bold } .name { font-size: 14px; font-weight: bold }
.small { font-size: 11px; fill: #555 } .out { fill: #b00020; font-weight: bold }
.grid { stroke: #e4e4e4 } .axis { stroke: #444; fill: none } .zero { stroke: #888 }
.permitted { stroke: #b00020; stroke-dasharray: 9 4 } .band { fill: #2b6cb0; fill-opacity: .10 }
.mean { stroke: #2b6cb0 } .limit { stroke: #2b6cb0; stroke-dasharray: 3 3 }
.drift { stroke: #8a5a00; fill: none; stroke-width: 1.5 } .bound { fill: #8a5a00; fill-opacity: .12 }
.bar { stroke: #777 } .early { fill: #fff; stroke: #555 } .good { fill: #1a4f8a }
.bad { stroke: #b00020; stroke-width: 2.5; fill: none } .adjusted { stroke: #5b2c83; stroke-dasharray: 6 3 }
""".strip()  # noqa: E501


class _Frame(msgspec.Struct, frozen=True):
    """Where a panel lies and what its axes span: time in microseconds UTC, error in mm."""

    top: float
    start: int
    end: int
    low: float
    high: float
    step: float

    def x(self, at_us: float) -> float:
        share = (at_us - self.start) / (self.end - self.start)
        return _LEFT + share * (WIDTH - _LEFT - _RIGHT)

    def y(self, error_mm: float) -> float:
        share = (self.high - error_mm) / (self.high - self.low)
        return self.top + _TOP + share * (PANEL_HEIGHT - _TOP - _BOTTOM)

    @property
    def right(self) -> float:
        return WIDTH - _RIGHT

    @property
    def floor(self) -> float:
        return self.top + PANEL_HEIGHT - _BOTTOM


MARK = "<!-- made by jbridge history -->"
"""By this the program knows a picture of its own."""


def picture(overview: Overview) -> str:
    """The SVG document; each panel has the same time axis."""
    shown = overview.sizes
    foot = _foot(overview)
    height = _HEAD + PANEL_HEIGHT * max(1, len(shown)) + _FOOT_LINE * len(foot) + 16
    body = [
        MARK,
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{height}" '
        f'viewBox="0 0 {WIDTH} {height}" role="img">',
        f"<title>{_safe(_title(overview))}</title>",
        f"<style>{_STYLE}</style>",
        f'<rect width="{WIDTH}" height="{height}" fill="#fff"/>',
        _text(_LEFT, 26, _title(overview), "title"),
        _text(_LEFT, 46, _subtitle(overview), "out" if overview.trouble_short else "small"),
    ]
    start, end = _span(overview)
    for index, report in enumerate(shown):
        body += _panel(report, overview, _HEAD + index * PANEL_HEIGHT, start, end)
    if not shown:
        body.append(_text(_LEFT, _HEAD + 60, "No check is in this history yet.", ""))
    top = _HEAD + PANEL_HEIGHT * max(1, len(shown)) + 12
    body += [_text(_LEFT, top + _FOOT_LINE * i, line, "small") for i, line in enumerate(foot)]
    return "\n".join([*body, "</svg>", ""])


def _title(overview: Overview) -> str:
    return f"Gauge {overview.name}: error on the stack over time"


def _subtitle(overview: Overview) -> str:
    return overview.trouble_short or overview.due_words


def _foot(overview: Overview) -> list[str]:
    lines = [
        "Error = reading - stack, mean of a check. Bars: its expanded uncertainty (95 %: stack, "
        "repeatability, resolution).",
        "Filled: last check of an occasion (checks within four hours), hollow: earlier ones.",
        "Blue band: limits mean -+ t * s of the occasions before (NIST/SEMATECH e-Handbook 2.3.5). "
        "Red cross: out of control. Red dashes: permitted error.",
    ]
    if any(report.drift is not None for report in overview.sizes):
        lines.append(
            "Brown: least-squares line since the last adjustment with its 95 % confidence band "
            "(ISO/IEC Guide 98-3 H.3)."
        )
    return lines


def _span(overview: Overview) -> tuple[int, int]:
    times = [point.at_us for report in overview.sizes for point in report.series.points]
    if not times:
        return 0, 1
    margin = max((max(times) - min(times)) // 50, _DAY_US // 8)
    return min(times) - margin, max(times) + margin


def _panel(report: SizeReport, overview: Overview, top: float, start: int, end: int) -> list[str]:
    values = _values(report, overview.permitted_mm)
    low, high, step = covering(min(values), max(values), 8)
    frame = _Frame(top, start, end, low, high, step)
    parts = [
        _text(_LEFT, top + 22, size_words(report.series), "name"),
        _text(_LEFT + 130, top + 22, report.state_words, "out" if report.is_out else ""),
        *_axes(frame),
        *_levels(report, overview, frame),
        *_adjusted(overview.adjusted, frame),
    ]
    if report.drift is not None:
        parts += _drift(report.drift, report.series.last.at_us, frame)
    parts += [_bar(point, report.u_mm(point), frame) for point in report.series.points]
    for point in report.series.points:
        if not point.is_occasion:
            parts.append(_dot(point, "early", 2.5, frame))
    parts += [_mark(mark, frame) for mark in report.control.marks]
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


def _axes(frame: _Frame) -> list[str]:
    parts = []
    steps = round((frame.high - frame.low) / frame.step)
    for index in range(steps + 1):
        value = frame.low + index * frame.step
        y = frame.y(value)
        kind = "zero" if abs(value) < frame.step / 1000 else "grid"
        parts.append(_line(_LEFT, y, frame.right, y, kind))
        parts.append(_text(_LEFT - 8, y + 4, _um(value, frame.step), "", "end"))
    parts.append(_text(_LEFT - 8, frame.y(frame.high) - 12, "µm", "small", "end"))
    for at_us, words in _ticks(frame):
        x = frame.x(at_us)
        parts.append(_line(x, frame.floor, x, frame.floor + 5, "axis"))
        parts.append(_text(x, frame.floor + 18, words, "", "middle"))
    ceiling = frame.y(frame.high)
    points = f"{_LEFT},{ceiling:.1f} {_LEFT},{frame.floor:.1f} {frame.right:.1f},{frame.floor:.1f}"
    return [*parts, f'<polyline class="axis" points="{points}"/>']


def _um(value_mm: float, step_mm: float) -> str:
    decimals = 0 if step_mm * 1000 >= 1 else (1 if step_mm * 1000 >= 0.1 else 2)
    text = f"{value_mm * 1000:+.{decimals}f}"
    return text if float(text) else "0"


def _ticks(frame: _Frame) -> list[tuple[int, str]]:
    """Moments on whole days with their dates; within two days, hours."""
    days = (frame.end - frame.start) / _DAY_US
    if days < 2:
        hours = max(1, round(nice_step(days * 24, 8)))
        every, form = hours * _DAY_US // 24, "%m-%d %H:%M"
    else:
        every = next((n for n in _TICKS_DAYS if days / n <= 8), 3652) * _DAY_US
        form = "%Y-%m-%d"
    first = -(-frame.start // every) * every
    return [
        (at_us, datetime.fromtimestamp(at_us // 1_000_000, UTC).strftime(form))
        for at_us in range(first, frame.end + 1, every)
    ]


def _levels(report: SizeReport, overview: Overview, frame: _Frame) -> list[str]:
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
            f'<rect class="band" x="{left:.1f}" y="{high:.1f}" '
            f'width="{frame.right - left:.1f}" height="{low - high:.1f}"/>'
        )
        levels += [
            (baseline.high_mm, "limit", f"limit {baseline.high_mm * 1000:+.2f}"),
            (baseline.mean_mm, "mean", f"mean {baseline.mean_mm * 1000:+.2f}"),
            (baseline.low_mm, "limit", f"limit {baseline.low_mm * 1000:+.2f}"),
        ]
    if permitted_mm is not None and permitted_mm <= frame.high + 1e-9:
        for value in (permitted_mm, -permitted_mm):
            levels.append((value, "permitted", f"permitted {value * 1000:+g}"))
    lowest = -1e9
    for value, kind, name in sorted(levels, reverse=True):
        y = frame.y(value)
        lowest = max(y, lowest + 12)
        left = _LEFT if kind == "permitted" else frame.x(max(frame.start, since_us))
        parts.append(_line(left, y, frame.right, y, kind))
        parts.append(_text(frame.right + 6, lowest + 4, name, "small"))
    return parts


def _adjusted(moments: Sequence[int], frame: _Frame) -> list[str]:
    parts = []
    for at_us in moments:
        if frame.start <= at_us <= frame.end:
            x = frame.x(at_us)
            parts.append(_line(x, frame.y(frame.high), x, frame.floor, "adjusted"))
            parts.append(
                _text(x + 4, frame.y(frame.high) - 4, f"adjusted {utc_day(at_us)}", "small")
            )
    return parts


def _drift(drift: Drift, until_us: int, frame: _Frame) -> list[str]:
    moments = [drift.start_us + (until_us - drift.start_us) * i // 24 for i in range(25)]
    line, upper, lower = [], [], []
    for at_us in moments:
        value, half = drift.at(at_us)
        line.append((at_us, value))
        upper.append((at_us, value + half))
        lower.append((at_us, value - half))
    return [
        f'<polygon class="bound" points="{_path([*upper, *reversed(lower)], frame)}"/>',
        f'<polyline class="drift" points="{_path(line, frame)}"/>',
    ]


def _path(points: Sequence[tuple[int, float]], frame: _Frame) -> str:
    """Within the panel: what lies outside is drawn on its edge."""
    return " ".join(
        f"{frame.x(at):.1f},{frame.y(min(frame.high, max(frame.low, value))):.1f}"
        for at, value in points
    )


def _bar(point: Point, u_mm: float, frame: _Frame) -> str:
    x = frame.x(point.at_us)
    high, low = frame.y(point.error_mm + u_mm), frame.y(point.error_mm - u_mm)
    return f'<path class="bar" d="M{x:.1f} {high:.1f}V{low:.1f}"/>'


def _dot(point: Point, kind: str, radius: float, frame: _Frame) -> str:
    x, y = frame.x(point.at_us), frame.y(point.error_mm)
    return f'<circle class="{kind}" cx="{x:.1f}" cy="{y:.1f}" r="{radius:g}"/>'


def _mark(mark: Mark, frame: _Frame) -> str:
    if mark.is_in is not False:
        return _dot(mark.point, "good", 3.5, frame)
    x, y = frame.x(mark.point.at_us), frame.y(mark.point.error_mm)
    return (
        f'<path class="bad" d="M{x - 5:.1f} {y - 5:.1f}l10 10m0 -10l-10 10">'
        f"<title>{utc_day(mark.point.at_us)}</title></path>"
    )


def _line(x1: float, y1: float, x2: float, y2: float, kind: str) -> str:
    return f'<line class="{kind}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def _text(x: float, y: float, words: str, kind: str, anchor: str = "start") -> str:
    name = f' class="{kind}"' if kind else ""
    where = "" if anchor == "start" else f' text-anchor="{anchor}"'
    return f'<text{name}{where} x="{x:.1f}" y="{y:.1f}">{_safe(words)}</text>'


def _safe(words: str) -> str:
    """Text for XML, free of control characters, which XML has no form for."""
    return escape(printable(words))
