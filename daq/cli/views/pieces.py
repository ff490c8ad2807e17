"""Lines of styled text for a screen that is drawn whole: wrapped by words, never within a number.
No terminal touched here.
"""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from rich.console import Console, ConsoleOptions
    from rich.segment import Segment

MORE = "…"


class Piece(NamedTuple):
    """A part of a line in one style."""

    text: str
    style: str = ""


Line = Sequence[Piece]


def line(text: str, style: str = "") -> Line:
    """A line in one style."""
    return (Piece(text, style),)


def width(text: str) -> int:
    """How many columns a text takes; some characters take two."""
    if text.isascii():
        return len(text)
    from rich.cells import cell_len  # noqa: PLC0415 - only on a terminal

    return cell_len(text)


def padded(text: str, columns: int) -> str:
    """A text with blanks behind it."""
    return text + " " * (columns - width(text))


def short_name(text: str, columns: int) -> str:
    """A name, its end left out where it is longer than that."""
    if width(text) <= columns:
        return text
    while text and width(text) >= columns:
        text = text[:-1]
    return text + MORE if columns else ""


def wrapped(text: str, columns: int, most: int | None = None) -> list[str]:
    """A text in lines, broken between words. A word too long for a line is shortened, and left out
    where it holds a digit: half a number is another number. Of more than `most` lines the last ends
    with a mark.
    """
    found = [""]
    for word in text.split():
        if width(word) > columns:
            word = MORE if any(map(str.isdigit, word)) else short_name(word, columns)  # noqa: PLW2901
        longer = f"{found[-1]} {word}".strip()
        if width(longer) <= columns:
            found[-1] = longer
        else:
            found.append(word)
    if most is None or len(found) <= most:
        return [each for each in found if each]
    if most < 1:
        return []
    last = found[most - 1]
    while last and width(last) + 2 > columns:
        last = last.rpartition(" ")[0]
    return [*found[: most - 1], f"{last} {MORE}".strip()]


def fitted(line: Line, columns: int) -> Line:
    """A line without what does not fit, cut between words."""
    text = "".join(piece.text for piece in line)
    if width(text) <= columns:
        return line
    while text and width(text) > columns:
        text = text.rstrip().rpartition(" ")[0]
    kept: list[Piece] = []
    left = len(text)
    for piece in line:
        kept.append(Piece(piece.text[:left], piece.style))
        left -= min(left, len(piece.text))
    return kept


class Drawn:
    """Lines as rich draws them; no line is wrapped again."""

    def __init__(self, lines: Sequence[Line]) -> None:
        self._lines = lines

    def __rich_console__(
        self, console: "Console", options: "ConsoleOptions"
    ) -> "Iterator[Segment]":
        """One line after another."""
        from rich.segment import Segment  # noqa: PLC0415 - only on a terminal

        for each in self._lines:
            for text, style in each:
                yield Segment(text, console.get_style(style) if style else None)
            yield Segment.line()
