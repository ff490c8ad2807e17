"""The checks at one size over time as lines of text for a terminal. Pure."""

from collections.abc import Sequence

from daq.gauges.control import Control
from daq.gauges.series import Series
from daq.pictures.scale import covering
from drivers.reading import utc_day

LEAST_WIDTH, MOST_WIDTH = 46, 120
ROWS = 20

_PLAIN = str.maketrans({"─": "-", "┄": ".", "═": "=", "│": "|", "●": "o", "·": "'", "┊": ":"})


def plot(
    series: Series,
    control: Control,
    adjusted: Sequence[int],
    permitted_mm: float | None,
    *,
    width: int = 80,
    is_ascii: bool = False,
) -> list[str]:
    """The plot: error in mm upwards, time to the right.

    `adjusted`: when the gauge was set anew, microseconds UTC. `permitted_mm`: the permitted error
    either way, None where not known. `width` in characters, axis included.
    """
    columns = max(LEAST_WIDTH, min(width, MOST_WIDTH)) - _LEFT - _RIGHT
    levels = _levels(control, permitted_mm)
    values = [point.error_mm for point in series.points] + [value for value, *_ in levels]
    low, high, step = covering(min(values), max(values), ROWS)
    rows = round((high - low) / step) + 1
    grid = [[" "] * columns for _ in range(rows)]
    names = [""] * rows

    def row(value: float) -> int:
        return min(rows - 1, max(0, round((high - value) / step)))

    for value, char, name in levels:
        at = row(value)
        grid[at] = [char] * columns
        names[at] = f"{names[at]}, {name}" if names[at] else name
    start, end = _span(series)

    def column(at_us: int) -> int:
        return round((at_us - start) / (end - start) * (columns - 1))

    for at_us in adjusted:
        if start <= at_us <= end:
            for cells in grid:
                cells[column(at_us)] = "┊"
    for char, cells_of in _points(series, control):
        for at_us, value in cells_of:
            grid[row(value)][column(at_us)] = char
    text = [
        f"{_label(high - index * step, step)}│{''.join(cells)} {names[index]}".rstrip()
        for index, cells in enumerate(grid)
    ]
    text.append(" " * (_LEFT - 1) + "└" + "─" * columns)
    first, last = str(utc_day(start)), str(utc_day(end))
    text.append(" " * _LEFT + first + last.rjust(columns - len(first)))
    if is_ascii:
        text = [line.replace("└", "+").translate(_PLAIN) for line in text]
    return text


_LEFT, _RIGHT = 10, 12


def legend(control: Control, *, is_ascii: bool = False, has_adjustment: bool = False) -> str:
    """What the characters mean."""
    words = ["● last check of an occasion", "· earlier ones"]
    if any(mark.is_in is False for mark in control.marks):
        words.append("X out of control")
    if has_adjustment:
        words.append("┊ gauge adjusted")
    text = ", ".join(words)
    return text.translate(_PLAIN) if is_ascii else text


def _label(value: float, step: float) -> str:
    """Every second row's error, zero among them."""
    if round(value / step) % 2:
        return " " * (_LEFT - 1)
    text = f"{value:+.4f}" if step >= 1e-4 else f"{value:+.5f}"
    return f"{text if float(text) else '0     ':>{_LEFT - 2}} "


def _levels(control: Control, permitted_mm: float | None) -> list[tuple[float, str, str]]:
    """Value, character and name of each horizontal line, the least important first."""
    found = [(0.0, "─", "0")]
    if permitted_mm is not None:
        found += [(permitted_mm, "═", "permitted"), (-permitted_mm, "═", "permitted")]
    baseline = control.next_baseline
    if baseline is not None:
        found += [(baseline.mean_mm, "─", "mean")]
        found += [(baseline.low_mm, "┄", "limit"), (baseline.high_mm, "┄", "limit")]
    return found


def _span(series: Series) -> tuple[int, int]:
    start, end = series.points[0].at_us, series.points[-1].at_us
    return (start, end) if end > start else (start - 1, start + 1)


def _points(series: Series, control: Control) -> list[tuple[str, list[tuple[int, float]]]]:
    """Character and cells, those that must be seen last."""
    earlier = [(p.at_us, p.error_mm) for p in series.points if not p.is_occasion]
    marks = [(m.point.at_us, m.point.error_mm, m.is_in) for m in control.marks]
    return [
        ("·", earlier),
        ("●", [(at, value) for at, value, is_in in marks if is_in is not False]),
        ("X", [(at, value) for at, value, is_in in marks if is_in is False]),
    ]
