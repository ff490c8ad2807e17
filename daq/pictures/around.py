"""One journal's diameters around the circle, against its limits, much enlarged. Pure.

Drawn is what is judged: the estimate of each place, the mean over its repeats. Each station has its
own shape of mark. A diameter is the same 180 degrees on, so the other half is drawn too, hollow and
light: it is the mirrored one, nobody measured there. Eight stations are drawn at most, the asked
one and that of the smallest diameter among them; the rest is counted in words.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from math import cos, radians, sin

from daq.board.board import JournalRow, PlaceAsked
from daq.board.shown_lengths import ShownLimit, shown_limit, shown_size
from daq.pictures.diameters import (
    DiameterDrawn,
    RadialScale,
    diameters,
    in_unit,
    scale_of,
    smallest_of,
)
from daq.pictures.layout import JournalDrawn
from daq.pictures.lettering import fitted, wrapped
from daq.pictures.marks import MOST_SHAPES, mark
from daq.pictures.svg import Own, circle, group, line, picture, polygon, text
from drivers.reading import plain

WIDTH = 440
_X, _Y = 220, 218
_INNER, _OUTER = 46, 150
_LABEL = _OUTER + 16
_KEY = _Y + _OUTER + 50
"""Where the key begins, below the circle."""

_LINE = 21
_SIZE = 14
"""Of the letters of the key."""

_ASIDE = 11
"""From one station's mark to the next one's, along the circle."""

_MOST_VALUES = 3
"""Lines of values of one station."""

MOST_LABELS = 9
"""Angles that are labelled, of one half."""


def around(
    journal: JournalDrawn,
    row: JournalRow | None = None,
    asked: PlaceAsked | None = None,
    *,
    with_values: bool = False,
) -> str:
    """The diameters of a journal as SVG; `with_values` writes them below, too."""
    found = diameters(row)
    smallest = smallest_of(found)
    scale = scale_of(journal, found, _INNER, _OUTER)
    here = asked if asked is not None and asked.journal == journal.name else None
    stations = _stations(journal, smallest, here)
    name = fitted(journal.name, WIDTH - 230, 22, is_bold=True)
    listed = found if with_values else []
    key, bottom = _key(journal, stations, smallest, scale, here, listed)
    again = 0 if row is None else sum(place.state == "again" for place in row.places)
    if again:
        words = f"Not drawn: {again} that must be taken again."
        key.append(text(14, bottom, words, size=13, paint="quiet"))
        bottom += 17
    body = [
        text(12, 26, Own(name), size=22, is_bold=True, kind="pic-name"),
        text(WIDTH - 12, 24, "diameters, seen from the end", size=13, anchor="end", paint="quiet"),
        *_rings(journal, scale),
        *_angles(journal, here),
        *_marks(journal, found, stations, smallest, scale),
        *key,
    ]
    about = _about(journal, found, smallest)
    return picture(WIDTH, bottom, "Diameters around the journal", about, body, "pic-around")


def point(radius: float, angle_deg: float) -> tuple[float, float]:
    """A point of the drawing: 0 degrees at the top, clockwise, as the journal from its end."""
    turn = radians(angle_deg)
    return _X + radius * sin(turn), _Y - radius * cos(turn)


def _stations(
    journal: JournalDrawn, smallest: DiameterDrawn | None, here: PlaceAsked | None
) -> list[str]:
    """The stations that are drawn, in their order."""
    first = [one.station for one in (here, smallest) if one is not None]
    wanted = list(dict.fromkeys([*first, *journal.stations]))[:MOST_SHAPES]
    return [station for station in journal.stations if station in wanted]


def _rings(journal: JournalDrawn, scale: RadialScale) -> Iterator[str]:
    """The limits and the scale."""
    low = high = scale.radius(in_unit(Fraction(journal.low.mm), journal.unit))
    if journal.high is not None:
        high = scale.radius(in_unit(Fraction(journal.high.mm), journal.unit))
        yield circle(_X, _Y, high, fill="metal", kind="pic-allowed")
        yield circle(_X, _Y, low, fill="paper")
    for radius in scale.rings:
        yield circle(_X, _Y, radius, stroke="faint", wide=0.7, kind="pic-ring")
    if journal.high is not None:
        yield circle(_X, _Y, high, stroke="ink", wide=1.8, kind="pic-high")
    yield circle(_X, _Y, low, stroke="ink", wide=1.8, dash="8 5", kind="pic-low")


def _angles(journal: JournalDrawn, here: PlaceAsked | None) -> Iterator[str]:
    """Spokes at the angles measured at, and what they are."""
    every = -(-len(journal.angles_deg) // MOST_LABELS)
    shown = {angle for at, angle in enumerate(journal.angles_deg) if at % every == 0}
    for angle in journal.angles_deg:
        is_here = here is not None and here.angle_deg == angle
        paint, wide = ("here", 2.0) if is_here else ("faint", 0.7)
        yield line(
            *point(_OUTER + 6, angle), *point(_OUTER + 6, angle + 180), stroke=paint, wide=wide
        )
        if angle in shown or is_here:
            yield _label(angle, "here" if is_here else "ink", is_bold=is_here)
            yield _label(angle + 180, "quiet", is_bold=False)


def _label(angle: int, paint: str, *, is_bold: bool) -> str:
    x, y = point(_LABEL, angle)
    beside = (x - _X) / _LABEL
    anchor = "start" if beside > 0.25 else "end" if beside < -0.25 else "middle"
    return text(x, y + 4, f"{angle}°", size=15, anchor=anchor, paint=paint, is_bold=is_bold)


def _marks(
    journal: JournalDrawn,
    found: Sequence[DiameterDrawn],
    stations: Sequence[str],
    smallest: DiameterDrawn | None,
    scale: RadialScale,
) -> Iterator[str]:
    """The diameters, station by station; a line joins those of a station, round the whole circle
    once all its angles are measured.
    """
    for shape, station in enumerate(stations):
        aside = (shape - (len(stations) - 1) / 2) * _ASIDE
        own = sorted(
            (each for each in found if each.station == station), key=lambda each: each.angle_deg
        )
        at = [(scale.radius(in_unit(each.mm, journal.unit)), each.angle_deg) for each in own]
        points = [_beside(*one, aside) for one in at]
        mirrored = [_beside(radius, angle + 180, aside) for radius, angle in at]
        parts = []
        is_whole = len(own) == len(journal.angles_deg)
        if len(own) > 1:
            joined = [*points, *mirrored] if is_whole else points
            parts.append(
                polygon(joined, stroke="quiet", wide=0.9, dash="2 3", is_open=not is_whole)
            )
        parts += [mark(shape, *one, is_hollow=True) for one in mirrored]
        parts += [mark(shape, *one) for one in points]
        if smallest is not None and smallest.station == station:
            x, y = points[own.index(smallest)]
            parts.append(circle(x, y, 10, stroke="ink", wide=2.2, kind="pic-smallest"))
        yield group(parts, f"pic-station-{shape + 1}")


def _beside(radius: float, angle_deg: float, aside: float) -> tuple[float, float]:
    """A point of the drawing, moved `aside` along the circle."""
    x, y = point(radius, angle_deg)
    turn = radians(angle_deg)
    return x + aside * cos(turn), y + aside * sin(turn)


def _key(
    journal: JournalDrawn,
    stations: Sequence[str],
    smallest: DiameterDrawn | None,
    scale: RadialScale,
    here: PlaceAsked | None,
    listed: Sequence[DiameterDrawn],
) -> tuple[list[str], float]:
    """What each sign means, in words, and how far down it reaches; `listed` are written out."""
    parts: list[str] = []
    y = float(_KEY)
    for at, limit in enumerate(_limits(journal)):
        x = 14 + at * WIDTH / 2
        parts.append(line(x, y - 5, x + 30, y - 5, wide=1.8, dash="8 5" if limit.is_low else ""))
        word = "low" if limit.is_low else "high"
        parts.append(text(x + 38, y, f"{word} {limit} {journal.unit}", size=_SIZE))
    y += _LINE
    if smallest is None:
        parts.append(text(52, y, "Nothing that stands is measured yet.", size=_SIZE))
    else:
        parts.append(circle(29, y - 5, 7, stroke="ink", wide=2.2))
        said = f"smallest {plain(_size(journal, smallest))} {journal.unit}"
        under = ", under the low limit" if smallest.mm < Fraction(journal.low.mm) else ""
        at_station = Own(fitted(smallest.station, 150, _SIZE, is_bold=True))
        where = (at_station, f" {smallest.angle_deg}°{under}")
        parts.append(text(52, y, said, size=_SIZE, is_bold=True, kind="pic-smallest"))
        parts.append(text(52, y + 18, *where, size=_SIZE, is_bold=True, kind="pic-smallest"))
    y += _LINE + 18
    for shape, station in enumerate(stations):
        is_here = here is not None and here.station == station
        parts.append(mark(shape, 29, y - 5))
        name = Own(fitted(station, 230, _SIZE, is_bold=True))
        rest, paint = (": measure here", "here") if is_here else ("", "ink")
        parts.append(text(52, y, name, rest, size=_SIZE, is_bold=is_here, paint=paint))
        y += _LINE
        values = ", ".join(
            f"{one.angle_deg}° {plain(_size(journal, one))}"
            for one in listed
            if one.station == station
        )
        for words in wrapped(values, WIDTH - 66, 12, _MOST_VALUES) if values else ():
            parts.append(text(52, y - 4, words, size=12, kind="pic-value"))
            y += 15
    left = len(journal.stations) - len(stations)
    if left:
        parts.append(text(52, y, f"and {left} more stations, not drawn", size=_SIZE))
        y += _LINE
    step = plain(Decimal(f"{scale.step:.7f}").normalize())
    for words in (
        f"One ring to the next: {step} {journal.unit}.",
        f"Deviations are drawn about {_rounded(scale.magnification)} times larger.",
        "Hollow: the same diameters, 180 degrees on.",
    ):
        parts.append(text(14, y, words, size=13, paint="quiet"))
        y += 17
    return parts, y


def _limits(journal: JournalDrawn) -> list[ShownLimit]:
    """The limits as they are shown, low before high."""
    limits = [shown_limit(journal.low, journal.unit, is_low=True)]
    if journal.high is not None:
        limits.append(shown_limit(journal.high, journal.unit, is_low=False))
    return limits


def _size(journal: JournalDrawn, found: DiameterDrawn) -> Decimal:
    """A diameter as it is shown, on the true side of the limits."""
    return shown_size(found.mm, journal.unit, _limits(journal))


def _rounded(number_of_times: float) -> str:
    """A number to two digits, with commas."""
    digits = max(0, len(str(int(number_of_times))) - 2)
    return f"{round(number_of_times, -digits):,.0f}"


def _about(
    journal: JournalDrawn, found: Sequence[DiameterDrawn], smallest: DiameterDrawn | None
) -> str:
    limits = ", ".join(
        f"{'low' if limit.is_low else 'high'} limit {limit} {journal.unit}"
        for limit in _limits(journal)
    )
    if smallest is None:
        return f"{journal.name}, {limits}; nothing that stands is measured yet."
    each = "; ".join(
        f"{one.station} {one.angle_deg}° {plain(_size(journal, one))}" for one in found[:64]
    )
    return f"{journal.name}, {limits}; smallest {plain(_size(journal, smallest))}. {each}"
