"""One journal's diameters around the circle. Pure."""

from daq.board.board import JournalRow, PlaceAsked
from daq.pictures.layout import JournalDrawn
from daq.pictures.svg import picture, text


def around(
    journal: JournalDrawn,
    row: JournalRow | None = None,
    asked: PlaceAsked | None = None,
    *,
    with_values: bool = False,
) -> str:
    """The diameters of a journal against its limits, as SVG."""
    return picture(
        420,
        420,
        "The diameters around the journal",
        "",
        [text(8, 24, journal.name, is_own=True)],
        "pic-around",
    )
