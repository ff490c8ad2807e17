"""Pictures of a session for notebooks, `daq.plot_crank` and `daq.plot_journal`: the drawings of the
page at the bench and of the worksheet.
"""

from pathlib import Path

import msgspec

from daq.board.board import Board
from daq.board.of_session import first_shown
from daq.errors import UsageError
from daq.pictures.around import around
from daq.pictures.crank_side import crank_side
from daq.pictures.layout import layout_of
from daq.record.state import State
from daq.storage.whole import whole

MOST_NAMED = 12
"""Journals that are named where another one was asked for."""


class Drawing(msgspec.Struct, frozen=True):
    """A picture as SVG text; a notebook shows it."""

    svg: str

    def _repr_svg_(self) -> str:
        return self.svg

    def save(self, file: str | Path) -> None:
        """Write it to a file; what stands there is replaced."""
        Path(file).write_text(self.svg, encoding="utf-8")


def plot_crank(session: str | Path) -> Drawing:
    """The part of a session folder from its side, each journal with how it stands.

    Raises LedgerDamaged where the ledger is damaged, another LedgerError where there is none.
    """
    state, _ = whole(Path(session))
    return Drawing(crank_side(layout_of(state.plan.journals), _board(state).rows))


def plot_journal(session: str | Path, journal: str) -> Drawing:
    """One journal's diameters around the circle against its limits, with their values below.

    Raises UsageError for a journal that the plan does not have, else as `plot_crank`.
    """
    state, _ = whole(Path(session))
    drawn = layout_of(state.plan.journals).journal(journal)
    if drawn is None:
        known = ", ".join(each.name for each in state.plan.journals[:MOST_NAMED])
        raise UsageError(f"there is no journal {journal[:60]!r} in this session: it has {known}")
    rows = {row.result.journal: row for row in _board(state).rows}
    return Drawing(around(drawn, rows.get(journal), with_values=True))


def _board(state: State) -> Board:
    """The session as it stands at its last line."""
    return first_shown(state, state.last_us).board
