"""Text of people's making, cleaned, measured and cut for a drawing. Pure.

A drawing cannot ask which font it will be shown in, so widths are those of a wide one: what is said
to fit does.
"""

import unicodedata
from functools import lru_cache

from drivers.printable import shown

MOST_TEXT = 200
"""Characters of any one text that are looked at; the rest is cut."""

_BOLD = 1.13
"""How much wider bold letters are."""

_NARROW, _WIDE = frozenset("iljtfrI.,:;'|!()[]/ "), frozenset("mwMW@%—OQGD")


def clean(words: str, most: int = MOST_TEXT) -> str:
    """A text as it may be shown: bounded, and printable."""
    return words if len(words) <= most and words.isprintable() else shown(words, most)


def text_width(words: str, size: float = 12, *, is_bold: bool = False) -> float:
    """How wide a text is at most in a usual sans-serif, in the units of the drawing: fonts differ,
    so the widths are those of a wide one.
    """
    return sum(map(_advance, words)) * size * (_BOLD if is_bold else 1.0)


@lru_cache(4096)
def _advance(char: str) -> float:
    """The width of one character in a size of 1."""
    if char in _NARROW:
        return 0.42
    if unicodedata.east_asian_width(char) in "WF":
        return 1.05
    if char in _WIDE:
        return 0.96
    if char.isdigit():
        return 0.64
    return 0.74 if char.isupper() else 0.62


def fitted(words: str, width: float, size: float = 12, *, is_bold: bool = False) -> str:
    """A text made harmless and cut to a width, with an ellipsis where it is cut."""
    whole = clean(words)
    if text_width(whole, size, is_bold=is_bold) <= width:
        return whole
    room = width - text_width("…", size, is_bold=is_bold)
    each = size * (_BOLD if is_bold else 1.0)
    kept = 0
    while kept < len(whole) and (room := room - _advance(whole[kept]) * each) >= 0:
        kept += 1
    return f"{whole[:kept].rstrip()}…"


def wrapped(
    words: str, width: float, size: float, most: int, *, is_bold: bool = False
) -> list[str]:
    """A text in at most `most` lines of a width; what does not fit ends in an ellipsis."""
    lines: list[str] = []
    rest = clean(words).split(" ")
    while rest and len(lines) < most:
        count = 1
        while count < len(rest) and (
            text_width(" ".join(rest[: count + 1]), size, is_bold=is_bold) <= width
        ):
            count += 1
        if len(lines) == most - 1:
            count = len(rest)
        lines.append(fitted(" ".join(rest[:count]), width, size, is_bold=is_bold))
        rest = rest[count:]
    return lines
