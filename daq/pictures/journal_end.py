"""A journal from its end. Pure."""

from daq.pictures.layout import JournalDrawn
from daq.pictures.svg import picture, text


def journal_end(journal: JournalDrawn, angle_deg: int | None = None) -> str:
    """The journal from its end, as SVG; `angle_deg` is the one to set, None for all of them."""
    return picture(
        320,
        320,
        "The journal from its end",
        "",
        [text(8, 24, journal.name, is_own=True)],
        "pic-end",
    )
