"""How far the last value lies from its journal's low limit. Pure."""

from decimal import Decimal
from fractions import Fraction

import msgspec

from daq.board.board import Board, JournalRow, LastValue, PlaceShown
from daq.board.shown_lengths import ShownLimit, shown_limit, shown_size
from daq.lengths import EXACT, MM_PER, Length, Position, to_mm


class ToLimit(msgspec.Struct, frozen=True):
    """`size` is what a value stands for in `unit` (at 20 degrees Celsius and corrected where it
    stands, as sent where it is held), `over` that less the limit as shown: as it is done by hand.
    """

    size: Decimal
    over: Decimal
    limit: ShownLimit
    unit: str
    is_corrected: bool = False


def to_limit(board: Board, low: Length | None = None) -> ToLimit | None:
    """Of the last value; None where it is of no journal, or of no length. `low`: the limit as the
    plan states it, else as the results have it.
    """
    last = board.last
    if last is None or last.of == "stack" or last.unit not in MM_PER:
        return None
    row = row_of(board, last)
    if row is None:
        return None
    limit = shown_limit(
        low or Length(Decimal(row.result.low_limit_mm), "mm"), row.unit, is_low=True
    )
    sent_mm = Fraction(to_mm(Decimal(last.value), last.unit))
    place = _place(row, last)
    estimate = place.estimate_mm if place is not None and last.of == "part" else ""
    mm = Fraction(estimate) if estimate else sent_mm
    size = shown_size(mm, row.unit, [limit])
    return ToLimit(
        size, EXACT.subtract(size, limit.value), limit, row.unit, is_corrected=mm != sent_mm
    )


def row_of(board: Board, last: LastValue) -> JournalRow | None:
    """The journal that a value is of."""
    return next(
        (row for row in board.rows if last.place.startswith(f"{row.result.journal}/")), None
    )


def _place(row: JournalRow, last: LastValue) -> PlaceShown | None:
    """The place that a value stands at, if this is the value there."""
    for place in row.places:
        at = Position(row.result.journal, place.station, place.angle_deg, place.repeat)
        if str(at) == last.place and (place.sent, place.unit) == (last.value, last.unit):
            return place
    return None
