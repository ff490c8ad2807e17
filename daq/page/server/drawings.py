"""The drawings of the page: the one place that asks for them."""

import re
from functools import lru_cache

from daq.board.board import Board, JournalRow
from daq.pictures.around import around
from daq.pictures.crank_side import crank_side
from daq.pictures.journal_end import journal_end
from daq.pictures.layout import CrankLayout
from daq.pictures.route_map import route_map

NARROW, NARROW_MAP = 360, 400
"""The width of a drawing for a phone, in its own units: so its words stay as large as others."""

HALVES = (600, 800, 1000, 1300)
"""Of one that stands beside another: the first at which it is not too high."""

MOST_HIGH = 0.85
"""Of its width. Chosen by us: the room that is there on a wide screen."""

_SIZE = re.compile(r'viewBox="0 0 ([0-9.]+) ([0-9.]+)"')

DRAWINGS = ("side", "side-narrow", "end", "around", "map", "map-narrow")


def drawings(layout: CrankLayout | None, board: Board) -> dict[str, str]:
    """The drawings as SVG, by the part that each stands in; empty where there is none."""
    if layout is None or not board.rows:
        return dict.fromkeys(DRAWINGS, "")
    asked, row = board.place, here(board)
    journal = None if row is None else layout.journal(row.result.journal)
    return {
        "side": crank_side(layout, board.rows, asked),
        "side-narrow": crank_side(layout, board.rows, asked, width=NARROW),
        "end": journal_end(journal, angle(board)) if journal else "",
        "around": around(journal, row, asked) if journal else "",
        "map": route_map(layout, board.rows, asked, width=half(layout)),
        "map-narrow": route_map(layout, board.rows, asked, width=NARROW_MAP),
    }


def angle(board: Board) -> int | None:
    """The angle to set, or of the reading that is held; None where no place is asked for."""
    if board.place is not None:
        return board.place.angle_deg
    last = board.last
    parts = last.place.split("/") if last is not None and last.of == "held" else []
    return int(parts[2]) if len(parts) > 2 and parts[2].isdigit() else None


@lru_cache(maxsize=4)
def half(layout: CrankLayout) -> int:
    """The width of a map that stands beside another drawing."""
    for width in HALVES:
        size = _SIZE.search(route_map(layout, width=width))
        if size is not None and float(size[2]) <= MOST_HIGH * float(size[1]):
            return width
    return HALVES[-1]


def here(board: Board) -> JournalRow | None:
    """The journal that is measured: the one asked for, else that of the last value, else the first:
    so that a drawing never comes or goes between two readings.
    """
    for row in board.rows:
        if row.is_asked:
            return row
    place = board.last.place if board.last is not None else ""
    measured = (row for row in board.rows if place.startswith(f"{row.result.journal}/"))
    return next(measured, board.rows[0] if board.rows else None)
