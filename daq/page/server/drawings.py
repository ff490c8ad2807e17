"""The drawings of the page: the one place that asks for them."""

from daq.board.board import Board, JournalRow
from daq.pictures.around import around
from daq.pictures.crank_side import crank_side
from daq.pictures.journal_end import journal_end
from daq.pictures.layout import CrankLayout
from daq.pictures.route_map import route_map

NARROW = 360
"""The width of a drawing for a phone, in its own units: so its words stay as large as others."""

HALF = 600
"""Of one that stands beside another."""

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
        "end": journal_end(journal, asked.angle_deg) if journal and asked else "",
        "around": around(journal, row, asked) if journal else "",
        "map": route_map(layout, board.rows, asked, width=HALF),
        "map-narrow": route_map(layout, board.rows, asked, width=NARROW),
    }


def here(board: Board) -> JournalRow | None:
    """The journal that is measured: the one asked for, else that of the last value."""
    for row in board.rows:
        if row.is_asked:
            return row
    place = board.last.place if board.last is not None else ""
    return next((row for row in board.rows if place.startswith(f"{row.result.journal}/")), None)
