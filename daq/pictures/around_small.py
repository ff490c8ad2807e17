"""The diameters of many journals side by side, each small, with one key for all of them. Pure.

The same drawing as of one journal from its end: limits as circles, a mark a station, the same
diameters 180 degrees on hollow. Journals of the same limits share a scale where they lie near them,
so that they can be compared; each says how far its rings are apart.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from math import cos, radians, sin

from daq.board.board import JournalRow
from daq.board.shown_lengths import shown_limit, shown_size
from daq.pictures.diameters import (
    DiameterDrawn,
    RadialScale,
    diameters,
    in_unit,
    scale_of,
    smallest_of,
)
from daq.pictures.key import KeySign, key_rows
from daq.pictures.layout import JournalDrawn
from daq.pictures.lettering import fitted, text_width
from daq.pictures.marks import MOST_SHAPES, mark
from daq.pictures.svg import Own, circle, group, line, picture, polygon, text
from drivers.reading import plain

WIDTH, HEIGHT = 138, 152
_X, _Y = 56, 80
_INNER, _OUTER = 15, 50
_LABEL = _OUTER + 9
_ASIDE = 7
MOST_ANGLES = 4
"""Angles that are labelled, of the measured half."""

MOST_SORTS = 6
"""Sorts of journals, by their stations, that the key tells of."""

KEY_WIDTH = 940

Found = Mapping[str, Sequence[DiameterDrawn]]


def around_small(journals: Sequence[JournalDrawn], rows: Sequence[JournalRow]) -> list[str]:
    """One drawing for each journal that has diameters which stand, in their order."""
    by_name = {row.result.journal: row for row in rows}
    found = {journal.name: diameters(by_name.get(journal.name)) for journal in journals}
    drawn = [journal for journal in journals if found[journal.name]]
    scales = {journal.name: _scale(journal, drawn, found) for journal in drawn}
    return [_drawn(journal, found[journal.name], scales[journal.name]) for journal in drawn]


def key_of(sorts: Sequence[tuple[str, Sequence[str]]], *, has_high: bool) -> str:
    """What the signs mean, in rows. `sorts`: the stations of the journals of such names, each
    station with the mark of its number; one sort alone needs no names.
    """
    signs = []
    for names, stations in sorts[:MOST_SORTS]:
        for shape, station in enumerate(stations[:MOST_SHAPES]):
            whose = fitted(names, 120, 13) if len(sorts) > 1 and not shape else ""
            lead = text_width(whose, 13, is_bold=True) + 6 if whose else 0
            signs.append(KeySign(_named(whose, lead, shape), lead + 20, station))
    signs += [
        KeySign(lambda x, y: circle(x + 8, y - 4, 7, stroke="ink", wide=2), 20, "smallest"),
        KeySign(
            lambda x, y: mark(0, x + 8, y - 4, is_hollow=True), 20, "the same diameters, 180° on"
        ),
        KeySign(lambda x, y: line(x, y - 4, x + 26, y - 4, wide=1.8, dash="8 5"), 34, "low limit"),
    ]
    if has_high:
        signs.append(
            KeySign(lambda x, y: line(x, y - 4, x + 26, y - 4, wide=1.8), 34, "high limit")
        )
    if len(sorts) > MOST_SORTS:
        signs.append(KeySign(lambda x, y: "", 0, "stations of the others in their order"))
    parts, y = key_rows(signs, 6, 15, KEY_WIDTH)
    about = "; ".join(f"{names}: {', '.join(stations)}" for names, stations in sorts[:MOST_SORTS])
    return picture(KEY_WIDTH, y + 8, "What the signs mean", about, parts, "pic-key")


def _named(whose: str, lead: float, shape: int) -> Callable[[float, float], str]:
    """The mark of a station, behind the names of the journals that have it."""

    def draw(x: float, y: float) -> str:
        name = text(x, y, Own(whose), size=13, is_bold=True) if whose else ""
        return name + mark(shape, x + lead + 8, y - 4)

    return draw


def _scale(journal: JournalDrawn, drawn: Sequence[JournalDrawn], found: Found) -> RadialScale:
    """Its own, or that of all journals of its limits whose diameters lie near those."""
    own = found[journal.name]
    if not _is_near(journal, own):
        return scale_of(journal, own, _INNER, _OUTER)
    like = [
        one
        for other in drawn
        if (other.low, other.high) == (journal.low, journal.high)
        and _is_near(other, found[other.name])
        for one in found[other.name]
    ]
    return scale_of(journal, like, _INNER, _OUTER)


def _is_near(journal: JournalDrawn, own: Sequence[DiameterDrawn]) -> bool:
    """Its diameters lie within a tolerance of its limits; without a high limit none counts."""
    if journal.high is None:
        return False
    low, high = Fraction(journal.low.mm), Fraction(journal.high.mm)
    return all(2 * low - high <= one.mm <= 2 * high - low for one in own)


def _drawn(journal: JournalDrawn, found: Sequence[DiameterDrawn], scale: RadialScale) -> str:
    limits = [shown_limit(journal.low, journal.unit, is_low=True)]
    limits += (
        [] if journal.high is None else [shown_limit(journal.high, journal.unit, is_low=False)]
    )
    smallest = smallest_of(found)
    assert smallest is not None
    name = fitted(journal.name, WIDTH - 6, 16, is_bold=True)
    stations = journal.stations[:MOST_SHAPES]
    step = plain(Decimal(f"{scale.step:.7f}").normalize())
    rings = f"{step} {journal.unit} a ring"
    if len(stations) < len(journal.stations):
        rings = f"{rings}, {len(stations)} of {len(journal.stations)} stations"
    body = [
        text(3, 12, Own(name), size=16, is_bold=True, kind="pic-name"),
        *_rings(journal, scale),
        *_spokes(journal),
        *_marks(journal, found, stations, smallest, scale),
        text(3, HEIGHT - 4, fitted(rings, WIDTH - 4, 12.5), size=12.5, paint="quiet"),
    ]
    each = "; ".join(
        f"{one.station} {one.angle_deg}° {plain(shown_size(one.mm, journal.unit, limits))}"
        for one in found[:64]
    )
    about = f"{journal.name}: {each}"
    return picture(WIDTH, HEIGHT, "Diameters around the journal", about, body, "pic-small")


def _at(radius: float, angle_deg: float, aside: float = 0) -> tuple[float, float]:
    """0 degrees at the top, clockwise; moved `aside` along the circle."""
    turn = radians(angle_deg)
    x, y = _X + radius * sin(turn), _Y - radius * cos(turn)
    return x + aside * cos(turn), y + aside * sin(turn)


def _rings(journal: JournalDrawn, scale: RadialScale) -> Iterator[str]:
    low = scale.radius(in_unit(Fraction(journal.low.mm), journal.unit))
    high = None
    if journal.high is not None:
        high = scale.radius(in_unit(Fraction(journal.high.mm), journal.unit))
        yield circle(_X, _Y, high, fill="metal", kind="pic-allowed")
        yield circle(_X, _Y, low, fill="paper", kind="pic-inside")
    for radius in scale.rings:
        yield circle(_X, _Y, radius, stroke="faint", wide=0.6, kind="pic-ring")
    if high is not None:
        yield circle(_X, _Y, high, stroke="ink", wide=1.8, kind="pic-high")
    yield circle(_X, _Y, low, stroke="ink", wide=1.8, dash="7 4", kind="pic-low")


def _spokes(journal: JournalDrawn) -> Iterator[str]:
    every = -(-len(journal.angles_deg) // MOST_ANGLES)
    for at, angle in enumerate(journal.angles_deg):
        yield line(*_at(_OUTER + 4, angle), *_at(_OUTER + 4, angle + 180), stroke="faint", wide=0.6)
        if at % every == 0:
            x, y = _at(_LABEL, angle)
            beside = (x - _X) / _LABEL
            anchor = "start" if beside > 0.25 else "middle"
            yield text(x, y + 4, f"{angle}°", size=13, anchor=anchor)


def _marks(
    journal: JournalDrawn,
    found: Sequence[DiameterDrawn],
    stations: Sequence[str],
    smallest: DiameterDrawn,
    scale: RadialScale,
) -> Iterator[str]:
    for shape, station in enumerate(stations):
        aside = (shape - (len(stations) - 1) / 2) * _ASIDE
        own = sorted(
            (each for each in found if each.station == station), key=lambda each: each.angle_deg
        )
        at = [(scale.radius(in_unit(each.mm, journal.unit)), each.angle_deg) for each in own]
        points = [_at(*one, aside) for one in at]
        beyond = [_at(radius, angle + 180, aside) for radius, angle in at]
        parts = []
        if len(own) > 1:
            is_whole = len(own) == len(journal.angles_deg)
            joined = [*points, *beyond] if is_whole else points
            parts.append(
                polygon(joined, stroke="quiet", wide=0.8, dash="2 3", is_open=not is_whole)
            )
        parts += [mark(shape, *one, is_hollow=True) for one in beyond]
        parts += [mark(shape, *one) for one in points]
        if smallest.station == station:
            x, y = points[own.index(smallest)]
            parts.append(circle(x, y, 8.5, stroke="ink", wide=2, kind="pic-smallest"))
        yield group(parts, f"pic-station-{shape + 1}")
