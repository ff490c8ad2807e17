"""The crank from the side, schematic: its journals in the order of the plan. Pure.

A main lies on the axis, on a saddle; a rod is thrown off it between webs, the next one to the other
side; any other journal is a spool on the axis. Between two journals where the plan puts no web a
broken neck says that the part itself may have more there. The order and the two sides are the
plan's and the drawing's, not the part's, and the picture says so.

As many journals stand in a row as are readable at `width`; there are four rows at most. Of more
journals those nearest to the asked one are drawn and those that need work, the rest is counted in
words: the picture is bounded for any plan.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

import msgspec

from daq.board.board import JournalRow, PlaceAsked
from daq.board.row_choice import nearest, rest_counts
from daq.board.row_words import BAD, stands
from daq.pictures.crank_parts import BAND, Cell, axis_line, between, cells_of, shape
from daq.pictures.layout import CrankLayout, JournalDrawn, here_words
from daq.pictures.lettering import clean, fitted, text_width, wrapped
from daq.pictures.svg import Own, group, line, picture, polygon, rect, text
from drivers.printable import shown

WIDTH = 960
MOST_ROWS = 4
LEAST_CELL, MOST_CELL = 70, 132
"""Width of one journal with its share of the webs."""

SKETCH = (
    "A sketch in the order of the plan: mains on the axis, rods beside it. It does not show how "
    "the part lies or is sized."
)

_MARGIN = 24


def crank_side(
    layout: CrankLayout,
    rows: Sequence[JournalRow] = (),
    asked: PlaceAsked | None = None,
    *,
    width: int = WIDTH,
    most_rows: int = MOST_ROWS,
    has_foot: bool = True,
    final: Mapping[str, str] | None = None,
) -> str:
    """The crank as SVG, at most `width` wide (320 at least) and in `most_rows` rows: each journal
    with its name and how it stands in words, the one to measure now with an arrow at its station.
    Without rows it is the plan alone: how many readings each journal takes. Without its foot the
    words SKETCH belong near it. `final`: words by journal instead of how it stands, where a session
    is over, so that nothing is asked and nothing will change.
    """
    found = {row.result.journal: row for row in rows}
    across = max(1, int((width - 2 * _MARGIN) // LEAST_CELL))
    drawn, rest = _chosen(layout, rows, asked, across * most_rows)
    high = -(-len(drawn) // across)
    across = -(-len(drawn) // max(1, high))
    cell = min(MOST_CELL, (width - 2 * _MARGIN) / max(1, across))
    sizes = _Sizes(cell, is_plan=not rows, final=final)
    wide = max(320.0, min(width, across * sizes.cell + 2 * _MARGIN))
    gaps = _after_gaps(layout, drawn)
    parts: list[str] = []
    for at in range(high):
        part = drawn[at * across : (at + 1) * across]
        start = (wide - len(part) * sizes.cell) / 2 if high == 1 else _MARGIN
        first = sum(one.kind == "rod" for one in drawn[: at * across])
        axis = at * sizes.row + sizes.head + BAND
        cells = cells_of(part, start, axis, sizes.cell, first, gaps)
        webs = between(cells, is_first=at == 0, is_last=at == high - 1)
        parts.append(group(webs, "pic-webs"))
        parts += _row(cells, found, asked, sizes, wide)
    foot = _foot(rest, wide, has_foot=has_foot)
    for at, words in enumerate(foot):
        parts.append(text(8, high * sizes.row + 10 + at * 15, words, size=11, paint="quiet"))
    return picture(
        wide,
        high * sizes.row + len(foot) * 15 + 4,
        "The crank from the side, in the order of the plan",
        _about(layout, found, asked, rest, sizes),
        parts,
        "pic-crank",
    )


class _Sizes(msgspec.Struct, frozen=True):
    """What follows from the width of a cell, and from whether there is the plan alone."""

    cell: float
    is_plan: bool
    final: Mapping[str, str] | None = None

    @property
    def head(self) -> float:
        """Above the crank, for the arrow and its words."""
        return 8 if self.is_plan or self.final is not None else 44

    @property
    def name(self) -> float:
        return 18 if self.cell >= 96 else 15

    @property
    def state(self) -> float:
        return 13 if self.cell >= 96 else 12

    @property
    def lines(self) -> int:
        """Lines of words below a name: as many whatever they are, so that nothing jumps."""
        if self.final is not None:
            room = self.cell - 2
            every = (wrapped(each, room, self.state, 4) for each in self.final.values())
            return max(map(len, every), default=1)
        return 2 if self.is_plan else 4

    @property
    def row(self) -> float:
        """From one row of journals to the next."""
        return self.head + 2 * BAND + 24 + self.lines * (self.state + 2) + 10


def _after_gaps(layout: CrankLayout, drawn: Sequence[JournalDrawn]) -> set[str]:
    """The journals before which others are left out."""
    order = {journal.name: at for at, journal in enumerate(layout.journals)}
    return {
        other.name for one, other in pairwise(drawn) if order[other.name] != order[one.name] + 1
    }


def _chosen(
    layout: CrankLayout, rows: Sequence[JournalRow], asked: PlaceAsked | None, most: int
) -> tuple[list[JournalDrawn], str]:
    """The journals that are drawn, and words for the others."""
    journals = list(layout.journals)
    if len(journals) <= most:
        return journals, ""
    left = len(journals) - most
    order = {journal.name: at for at, journal in enumerate(journals)}
    known = sorted(
        (row for row in rows if row.result.journal in order),
        key=lambda row: order[row.result.journal],
    )
    if not known:
        return journals[:most], f"and {left} more"
    names = [row.result.journal for row in known]
    here = names.index(asked.journal) if asked is not None and asked.journal in names else 0
    kept = nearest(known, here, most)
    wanted = {row.result.journal for row in kept}
    drawn = [journal for journal in journals if journal.name in wanted]
    words = ", ".join(rest_counts(known, kept))
    return drawn, f"and {len(journals) - len(drawn)} more{f': {words}' if words else ''}"


def _row(
    cells: Sequence[Cell],
    found: Mapping[str, JournalRow],
    asked: PlaceAsked | None,
    sizes: _Sizes,
    wide: float,
) -> Iterator[str]:
    for cell in cells:
        row = found.get(cell.journal.name)
        is_asked = asked is not None and asked.journal == cell.journal.name
        parts = [*shape(cell, row), *_label(cell, row, sizes, is_asked=is_asked)]
        if is_asked and asked is not None:
            parts += _arrow(cell, asked, wide)
        state = "plan" if row is None else row.result.verdict
        yield group(parts, f"pic-journal is-{state}{' is-asked' if is_asked else ''}")
    yield axis_line(cells)


def _label(cell: Cell, row: JournalRow | None, sizes: _Sizes, *, is_asked: bool) -> Iterator[str]:
    """The name, and how the journal stands."""
    y, room = cell.axis + BAND + 16, cell.width - 4
    size, names = sizes.name, [clean(cell.journal.name)]
    if text_width(names[0], size, is_bold=True) > room - 6:
        size = 12
        names = wrapped(names[0], room - 6, size, 2, is_bold=True)
    if is_asked:
        wide = max(text_width(name, size, is_bold=True) for name in names) + 8
        top, high = (y - 20, 28) if len(names) > 1 else (y - size, size + 5)
        yield rect(cell.middle - wide / 2, top, wide, high, fill="here", round_by=3)
    for at, name in enumerate(names):
        yield text(
            cell.middle,
            y if len(names) == 1 else y - 9 + 13 * at,
            Own(name),
            size=size,
            anchor="middle",
            is_bold=True,
            paint="paper" if is_asked else "ink",
            kind="pic-name",
        )
    is_bad = row is not None and (row.tainted > 0 or row.result.verdict in BAD)
    lines, size = _lines(cell.journal, row, cell.width - 2, sizes, is_bold=is_bad)
    for at, part in enumerate(lines):
        yield text(
            cell.middle,
            y + 8 + (at + 1) * (sizes.state + 2) - 2,
            part,
            size=size,
            anchor="middle",
            is_bold=is_bad,
            kind="pic-state",
        )


def _lines(
    journal: JournalDrawn, row: JournalRow | None, room: float, sizes: _Sizes, *, is_bold: bool
) -> tuple[list[str], float]:
    """How a journal stands, in lines of a size: in shorter words, then in smaller ones, where it
    would be cut.
    """
    found: list[str] = []
    size = sizes.state
    for is_short, size in ((False, sizes.state), (True, sizes.state), (True, sizes.state - 1)):
        words = _words(journal, row, sizes, is_short=is_short)
        found = wrapped(words, room, size, sizes.lines, is_bold=is_bold)
        if " ".join(found) == words:
            break
    return found, size


def _words(
    journal: JournalDrawn, row: JournalRow | None, sizes: _Sizes, *, is_short: bool = False
) -> str:
    """How a journal stands; what it asks for where there is the plan alone."""
    if sizes.final is not None and journal.name in sizes.final:
        return sizes.final[journal.name]
    if row is not None:
        late = journal.is_after_strip and not row.result.positions_measured
        words = stands(row, is_short=is_short)
        return f"{words}, after stripping" if late else words
    if not sizes.is_plan:
        return "not in this run"
    count = f"{journal.places} {'reading' if journal.places == 1 else 'readings'}"
    return f"{count}, after stripping" if journal.is_after_strip else count


def _arrow(cell: Cell, asked: PlaceAsked, wide: float) -> Iterator[str]:
    """Where to measure now: the station as a line across the journal, an arrow to it, words."""
    stations = cell.journal.stations
    x = cell.middle
    top, bottom = cell.centre - cell.half, cell.centre + cell.half
    if asked.station in stations:
        x = cell.station_x(stations.index(asked.station))
        yield line(x, top, x, bottom, stroke="here", wide=4, kind="pic-station")
    tip = top - 3
    high = cell.axis - BAND - 8
    yield line(x, high, x, tip - 8, stroke="here", wide=3)
    yield polygon([(x, tip), (x - 8, tip - 12), (x + 8, tip - 12)], fill="here")
    yield rect(
        cell.left - 3,
        top - 3,
        cell.long + 6,
        2 * cell.half + 6,
        stroke="here",
        wide=2.4,
        round_by=4,
    )
    station = fitted(asked.station, wide - 160, 15, is_bold=True)
    angle = f" {asked.angle_deg}°"
    half = text_width(f"here: {station}{angle}", 15, is_bold=True) / 2
    yield text(
        min(max(x, 8 + half), wide - 8 - half),
        high - 8,
        "here: ",
        Own(station),
        angle,
        size=15,
        anchor="middle",
        is_bold=True,
        paint="here",
        kind="pic-here",
    )


def _foot(rest: str, wide: float, *, has_foot: bool) -> list[str]:
    """The journals that are not drawn, in words, and that it is a sketch."""
    lines = wrapped(rest, wide - 16, 11, 2) if rest else []
    return lines + (wrapped(SKETCH, wide - 16, 11, 3) if has_foot else [])


def _about(
    layout: CrankLayout,
    found: Mapping[str, JournalRow],
    asked: PlaceAsked | None,
    rest: str,
    sizes: _Sizes,
) -> str:
    """The drawing in words, for who does not see it."""
    each = [
        f"{shown(journal.name)}: {_words(journal, found.get(journal.name), sizes)}"
        for journal in layout.journals[:60]
    ]
    return here_words(asked) + "; ".join([*each, *([rest] if rest else [])])
