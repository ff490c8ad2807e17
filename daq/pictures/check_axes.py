"""The axes of a gauge's history: time across, error on the stack upwards. Pure."""

from datetime import UTC, datetime

import msgspec

from daq.pictures.scale import nice_step
from daq.pictures.svg import line, polygon, text

WIDTH, PANEL_HEIGHT = 960, 300
LEFT, RIGHT, TOP, BOTTOM = 64, 118, 46, 34
DAY_US = 86_400_000_000
_TICKS_DAYS = (1, 2, 7, 14, 30, 61, 91, 183, 365, 731, 1826)


class ChartFrame(msgspec.Struct, frozen=True):
    """Where a panel lies and what its axes span: time in microseconds UTC, error in mm."""

    top: float
    start: int
    end: int
    low: float
    high: float
    step: float

    def x(self, at_us: float) -> float:
        """Where a moment lies."""
        share = (at_us - self.start) / (self.end - self.start)
        return LEFT + share * (WIDTH - LEFT - RIGHT)

    def y(self, error_mm: float) -> float:
        """Where an error lies."""
        share = (self.high - error_mm) / (self.high - self.low)
        return self.top + TOP + share * (PANEL_HEIGHT - TOP - BOTTOM)

    @property
    def right(self) -> float:
        """Where the axis of time ends."""
        return WIDTH - RIGHT

    @property
    def floor(self) -> float:
        """Where the axis of time lies."""
        return self.top + PANEL_HEIGHT - BOTTOM


def axes(frame: ChartFrame) -> list[str]:
    """Both axes with their numbers, and lines at those of the error."""
    parts = []
    steps = round((frame.high - frame.low) / frame.step)
    for index in range(steps + 1):
        value = frame.low + index * frame.step
        y = frame.y(value)
        is_zero = abs(value) < frame.step / 1000
        paint, wide = ("quiet", 1.0) if is_zero else ("faint", 0.6)
        kind = "pic-zero" if is_zero else "pic-grid"
        parts.append(line(LEFT, y, frame.right, y, stroke=paint, wide=wide, kind=kind))
        parts.append(text(LEFT - 8, y + 4, _um(value, frame.step), anchor="end"))
    above = frame.y(frame.high) - 12
    parts.append(text(LEFT - 8, above, "µm", size=11, anchor="end", paint="quiet"))
    for at_us, words in _ticks(frame):
        x = frame.x(at_us)
        parts.append(line(x, frame.floor, x, frame.floor + 5))
        parts.append(text(x, frame.floor + 18, words, anchor="middle"))
    ceiling = frame.y(frame.high)
    corners = [(LEFT, ceiling), (LEFT, frame.floor), (frame.right, frame.floor)]
    return [*parts, polygon(corners, stroke="ink", is_open=True, kind="pic-axis")]


def _um(value_mm: float, step_mm: float) -> str:
    decimals = 0 if step_mm * 1000 >= 1 else (1 if step_mm * 1000 >= 0.1 else 2)
    text = f"{value_mm * 1000:+.{decimals}f}"
    return text if float(text) else "0"


def _ticks(frame: ChartFrame) -> list[tuple[int, str]]:
    """Moments on whole days with their dates; within two days, hours."""
    days = (frame.end - frame.start) / DAY_US
    if days < 2:
        hours = max(1, round(nice_step(days * 24, 8)))
        every, form = hours * DAY_US // 24, "%m-%d %H:%M"
    else:
        every = next((n for n in _TICKS_DAYS if days / n <= 8), 3652) * DAY_US
        form = "%Y-%m-%d"
    first = -(-frame.start // every) * every
    return [
        (at_us, datetime.fromtimestamp(at_us // 1_000_000, UTC).strftime(form))
        for at_us in range(first, frame.end + 1, every)
    ]
