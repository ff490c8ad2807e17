"""What the signs of a drawing mean: each sign with its words, in rows. Pure."""

from collections.abc import Callable, Sequence
from typing import NamedTuple

from daq.pictures.lettering import fitted, text_width
from daq.pictures.svg import Own, text

MOST_WIDTH = 380
"""Of the words of one sign; they are cut there."""


class KeySign(NamedTuple):
    """A sign, drawn at a place on the base line of its words, which begin `lead` behind that."""

    draw: Callable[[float, float], str]
    lead: float
    words: str


def key_rows(
    signs: Sequence[KeySign],
    left: float,
    top: float,
    right: float,
    *,
    size: float = 13,
    paint: str = "ink",
) -> tuple[list[str], float]:
    """The rows from `left` to `right`, the first with its base line at `top`; and the base line of
    the last one.
    """
    parts: list[str] = []
    x, y = left, top
    for sign in signs:
        words = fitted(sign.words, MOST_WIDTH, size)
        room = sign.lead + text_width(words, size)
        if x > left and x + room > right:
            x, y = left, y + size + 7
        parts += [sign.draw(x, y), text(x + sign.lead, y, Own(words), size=size, paint=paint)]
        x += room + size
    return parts, y
