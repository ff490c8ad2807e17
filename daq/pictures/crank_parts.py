"""The pieces of a crank drawn from the side: webs, necks, and each journal in its place. Pure."""

from collections.abc import Container, Iterator, Sequence
from itertools import pairwise

import msgspec

from daq.board.board import JournalRow
from daq.pictures.layout import JournalDrawn
from daq.pictures.svg import line, number, path, polygon, rect
from daq.pictures.tones import body

_WEB = 14
_MAIN, _ROD, _SPOOL, _NECK = 27, 20, 16, 12
"""Half the height of each."""

_THROW = 38
BAND = _THROW + _ROD + 8
"""From the axis to the edge of what is drawn of the crank."""

_END = 20
"""How far the shaft goes on behind the outermost journals."""

_MOST_STATIONS = 9


class Cell(msgspec.Struct, frozen=True):
    """One journal in its place in the drawing: from `x` on, `width` with its half of the webs.
    `side`: 1 for a rod thrown up, -1 for one thrown down, 0 on the axis. `is_after_gap`: journals
    before it are not drawn.
    """

    journal: JournalDrawn
    x: float
    axis: float
    width: float
    side: int
    is_after_gap: bool = False

    @property
    def left(self) -> float:
        """Where the journal itself begins."""
        return self.x + _WEB / 2

    @property
    def long(self) -> float:
        """How long the journal itself is."""
        return self.width - _WEB

    @property
    def middle(self) -> float:
        """The middle of the journal along the axis."""
        return self.x + self.width / 2

    @property
    def half(self) -> float:
        """Half its height."""
        return {"main": _MAIN, "rod": _ROD, "other": _SPOOL}[self.journal.kind]

    @property
    def centre(self) -> float:
        """The height of its own axis."""
        return self.axis - self.side * _THROW

    def station_x(self, at: int) -> float:
        """Where a station lies: they are drawn evenly."""
        return self.left + (at + 0.5) * self.long / len(self.journal.stations)


def cells_of(
    journals: Sequence[JournalDrawn],
    x: float,
    axis: float,
    cell: float,
    thrown: int,
    after_gap: Container[str] = (),
) -> list[Cell]:
    """The journals of one row; `thrown` rods are in the rows above it, before those of `after_gap`
    journals are left out.
    """
    cells = []
    for at, journal in enumerate(journals):
        side = 0
        if journal.kind == "rod":
            side = -1 if thrown % 2 else 1
            thrown += 1
        cells.append(Cell(journal, x + at * cell, axis, cell, side, journal.name in after_gap))
    return cells


def between(cells: Sequence[Cell], *, is_first: bool, is_last: bool) -> Iterator[str]:
    """Webs beside rods, necks elsewhere, and the two ends: broken unless the crank ends there."""
    axis = cells[0].axis
    ends: list[Cell | None] = [None, *cells, None]
    for one, other in pairwise(ends):
        x = other.x if other is not None else cells[-1].x + cells[-1].width
        sides = {each.side for each in (one, other) if each is not None}
        if one is None or other is None:
            start = x + _WEB / 2 - _END if one is None else x - _WEB / 2
            yield rect(start, axis - _NECK, _END, 2 * _NECK, fill="metal", stroke="quiet")
            if not (is_first if one is None else is_last):
                yield _break(x - _WEB / 2 if one is None else x + _WEB / 2, axis)
        elif other.is_after_gap:
            yield line(x, axis - BAND, x, axis + BAND, stroke="quiet", wide=1.4, dash="2 5")
            continue
        elif not sides - {0}:
            yield rect(x - _WEB / 2, axis - _NECK, _WEB, 2 * _NECK, fill="metal", stroke="quiet")
            yield _break(x, axis)
        if sides - {0}:
            reach = _THROW + _ROD + 5
            top = axis - (reach if 1 in sides else _MAIN - 5)
            bottom = axis + (reach if -1 in sides else _MAIN - 5)
            yield rect(
                x - _WEB / 2, top, _WEB, bottom - top, fill="metal", stroke="quiet", round_by=3
            )


def _break(x: float, axis: float) -> str:
    """Two strokes across a neck: what lies there is not drawn."""
    strokes = (
        f"M{number(x + by - 2)} {number(axis + _NECK + 5)}"
        f"L{number(x + by + 2)} {number(axis - _NECK - 5)}"
        for by in (-2.5, 2.5)
    )
    return path("".join(strokes), stroke="ink")


def axis_line(cells: Sequence[Cell]) -> str:
    """The axis of the crank, over all of a row."""
    left, right, axis = cells[0].x - 16, cells[-1].x + cells[-1].width + 16, cells[0].axis
    return line(left, axis, right, axis, stroke="quiet", wide=0.8, dash="12 3 2 3")


def shape(cell: Cell, row: JournalRow | None) -> Iterator[str]:
    """The journal itself, with what tells its kind."""
    top, bottom = cell.centre - cell.half, cell.centre + cell.half
    if cell.journal.kind == "main":
        x, long = cell.left, cell.long
        yield polygon(
            [
                (x + 0.22 * long, bottom + 2),
                (x + 0.78 * long, bottom + 2),
                (x + 0.9 * long, bottom + 13),
                (x + 0.1 * long, bottom + 13),
            ],
            fill="metal",
            stroke="quiet",
        )
    yield from body(cell.left, top, cell.long, 2 * cell.half, row)
    if cell.journal.kind == "other":
        for x in (cell.left, cell.left + cell.long - 7):
            yield rect(x, top - 8, 7, 2 * cell.half + 16, fill="metal", stroke="ink")
    if 1 < len(cell.journal.stations) <= _MOST_STATIONS:
        ticks = "".join(
            f"M{number(cell.station_x(at))} {number(y)}v5"
            for at in range(len(cell.journal.stations))
            for y in (top, bottom - 5)
        )
        yield path(ticks, stroke="ink", wide=1.2)
