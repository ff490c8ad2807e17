"""The crank from the side. Pure."""

from collections.abc import Sequence

from daq.board.board import JournalRow, PlaceAsked
from daq.pictures.layout import CrankLayout
from daq.pictures.svg import picture, text


def crank_side(
    layout: CrankLayout, rows: Sequence[JournalRow] = (), asked: PlaceAsked | None = None
) -> str:
    """The crank as SVG."""
    body = [text(8, 24 + 16 * n, each.name, is_own=True) for n, each in enumerate(layout.journals)]
    return picture(960, 220, "The crank from the side", "", body, "pic-crank")
