"""Lines of text that fit a terminal: words wrapped, none of them and no number broken. Pure."""

import unicodedata
from collections.abc import Iterable, Sequence

import msgspec


class PrintedLine(msgspec.Struct, frozen=True):
    """One line. `style` is how a terminal with colour shows the characters from `start` to `end`
    (None: to the last); the words mean the same without.
    """

    text: str
    style: str = ""
    start: int = 0
    end: int | None = None


def columns(text: str) -> int:
    """How many columns a text takes on a terminal: ideographs take two, combining marks none."""
    return sum(
        0 if unicodedata.combining(char) else 2 if unicodedata.east_asian_width(char) in "WF" else 1
        for char in text
    )


def padded(text: str, width: int, *, right: bool = False) -> str:
    """A text filled up with blanks to `width` columns."""
    blanks = " " * (width - columns(text))
    return blanks + text if right else text + blanks


def pieces(text: str, width: int) -> list[str]:
    """A text in pieces of at most `width` columns, at least one."""
    found = [""]
    for char in text:
        if found[-1] and columns(found[-1] + char) > width:
            found.append("")
        found[-1] += char
    return found


def wrapped(text: str, width: int, indent: str = "", more: str | None = None) -> list[str]:
    """A paragraph in lines of at most `width` columns, broken between words; the first begins with
    `indent`, the others with `more` (None: as the first). Only a word that is wider than a line is
    broken itself.
    """
    following = indent if more is None else more
    lines: list[str] = []
    line, is_empty = indent, True
    for word in text.split(" "):
        for number, piece in enumerate(pieces(word, max(width - len(following), 1))):
            longer = line + ("" if is_empty else " ") + piece
            if not is_empty and (number or columns(longer) > width):
                lines.append(line)
                longer = following + piece
            line, is_empty = longer, False
    return [*lines, line]


def listed(names: Sequence[str], most: int = 6) -> str:
    """Names in a row, the last one after "and"; of more than `most` how many there are besides."""
    if len(names) > most:
        return f"{', '.join(names[:most])} and {len(names) - most} more"
    return " and ".join(filter(None, [", ".join(names[:-1]), names[-1] if names else ""]))


def paragraph(text: str, width: int, style: str = "", indent: str = "") -> list[PrintedLine]:
    """A paragraph of one style, hanging by two blanks."""
    return [PrintedLine(line, style) for line in wrapped(text, width, indent, indent + "  ")]


def plain_lines(found: Iterable[PrintedLine]) -> list[str]:
    """The same without colour."""
    return [line.text for line in found]
