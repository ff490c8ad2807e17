"""The page's two addresses on a terminal, with a code for a camera where it fits. No terminal
touched here.
"""

from collections.abc import Sequence
from typing import NamedTuple

from daq.cli.views.pieces import Line, Piece, line, width

QUIET = 2
"""Light squares around a code. The standard asks for four (ISO/IEC 18004, from memory); cameras
read it with two, which keeps two codes within 80 columns."""

GAP = 4
INK = "black on white"

_HALVES = {(0, 0): " ", (1, 0): "▀", (0, 1): "▄", (1, 1): "█"}


class PageLinks(NamedTuple):
    """The page's addresses, to look at and to press; `is_open`: others than this machine reach
    them.
    """

    board: str
    press: str
    is_open: bool = True


def code_rows(address: str) -> list[str]:
    """An address as a QR code (ISO/IEC 18004), two rows of squares to a line; dark is ink."""
    import segno  # noqa: PLC0415 - only where a page is shown

    matrix = [list(row) for row in segno.make_qr(address, error="l").matrix]
    wide = len(matrix) + 2 * QUIET
    rows = [[0] * wide for _ in range(QUIET)]
    rows += [[0] * QUIET + row + [0] * QUIET for row in matrix]
    rows += [[0] * wide for _ in range(QUIET + len(rows) % 2)]
    rows += [[0] * wide] * (len(rows) % 2)
    return [
        "".join(_HALVES[bool(above), bool(below)] for above, below in zip(*pair, strict=True))
        for pair in zip(rows[::2], rows[1::2], strict=True)
    ]


def link_lines(links: PageLinks, columns: int, rows: int) -> list[Line]:
    """Both addresses in at most so many lines and columns: for other machines with codes side by
    side, else the one to press, else as text alone.
    """
    here = "" if links.is_open else " (a browser on this machine)"
    said = [(f"To look at{here}:", links.board), ("To look at and press:", links.press)]
    words: list[Line] = [line(text) for label, link in said for text in (label, f"  {link}")]
    if not links.is_open:
        return words[: max(0, rows)]
    codes = [code_rows(link) for _, link in said]
    wide, high = len(codes[0][0]), 1 + max(map(len, codes))
    drawn: list[Line] = []
    if rows >= high and columns >= 2 * wide + GAP:
        pairs = zip(*codes, strict=True)
        drawn = [(Piece(a, INK), Piece(" " * GAP), Piece(b, INK)) for a, b in pairs]
        drawn.insert(0, line(_beside("look at", "look at and press", wide), "bold"))
    elif rows >= high and columns >= wide:
        drawn = [line("look at and press", "bold"), *_inked(codes[1])]
    return [*drawn, *words] if rows >= len(drawn) + len(words) else (drawn or words[: max(0, rows)])


def _beside(left: str, right: str, wide: int) -> str:
    return left + " " * (wide + GAP - width(left)) + right


def _inked(code: Sequence[str]) -> list[Line]:
    return [line(row, INK) for row in code]
