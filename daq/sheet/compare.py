"""What a sheet says against what its record gives: the first texts that differ. Pure."""

import re
from html.parser import HTMLParser

from daq.sheet.letterhead import MOST_LINES, MOST_NAME
from daq.sheet.seal import without_digest
from drivers.printable import shown

MOST_TOLD = 5
"""Differences that are told; of more, how many."""

_LINE = rf"<bdi>[^<>]{{0,{6 * MOST_NAME}}}</bdi>"
"""A text of people's, in which a character may be written with as many as six."""

_LETTERHEAD = re.compile(
    r'^<header>\n(?:<img src="data:image/(?:png|jpeg);base64,[0-9A-Za-z+/=]*" alt="">\n)?'
    rf'<p class="shop">{_LINE}</p>\n<p class="address">\n(?:{_LINE}<br>\n){{0,{MOST_LINES}}}</p>\n'
    r"</header>\n(?=<main>\n)",
    re.MULTILINE,
)
"""A letterhead as the page has it, in its place, and nothing else within it: it is all that nobody
holds against the record.
"""


def differences(given: str, again: str) -> list[str]:
    """How the page that was given differs from the one that the record gives, but for the shop's
    letterhead, which is not in the record; nothing if it does not.
    """
    one, other = _without_letterhead(given), _without_letterhead(again)
    if one == other:
        return []
    found = [_told(a, b) for a, b in _apart(texts(one), texts(other))]
    if not found:
        return ["its drawings or its layout are not those that the record gives"]
    more = len(found) - MOST_TOLD
    return found[:MOST_TOLD] + ([f"and {more} more texts differ"] if more > 0 else [])


def _apart(said: list[str], stands: list[str]) -> list[tuple[list[str], list[str]]]:
    """Where two rows of texts differ: each text where they are as many, else what lies between the
    first and the last difference. In a time that grows with their number only.
    """
    if len(said) == len(stands):
        pairs = zip(said, stands, strict=True)
        return [([a], [b]) for a, b in pairs if a != b]
    least = min(len(said), len(stands))
    start = next((at for at in range(least) if said[at] != stands[at]), least)
    end = next(
        (at for at in range(least - start) if said[-1 - at] != stands[-1 - at]), least - start
    )
    return [(said[start : len(said) - end], stands[start : len(stands) - end])]


def _told(said: list[str], stands: list[str]) -> str:
    if not said:
        return f"{_quoted(stands)} is missing on it"
    if not stands:
        return f"it says {_quoted(said)}, of which the record has nothing"
    return f"it says {_quoted(said)}, the record gives {_quoted(stands)}"


def _quoted(words: list[str]) -> str:
    return '"' + shown(" ".join(words), 80) + '"'


def _without_letterhead(page: str) -> str:
    return _LETTERHEAD.sub("", without_digest(page), count=1)


def letterhead_words(page: str) -> str:
    """What the letterhead of a page says; empty if it has none as `page` makes it."""
    found = _LETTERHEAD.search(without_digest(page))
    return shown(", ".join(texts(found[0])), 200) if found else ""


def texts(page: str) -> list[str]:
    """The texts of a page that a reader sees, in their order."""
    reader = _Texts()
    reader.feed(page)
    reader.close()
    return reader.found


class _Texts(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []
        self._is_hidden = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._is_hidden = tag in ("style", "script")

    def handle_endtag(self, tag: str) -> None:
        self._is_hidden = False

    def handle_data(self, data: str) -> None:
        words = " ".join(data.split())
        if words and not self._is_hidden:
            self.found.append(words)


__all__ = ["differences", "letterhead_words", "texts"]
