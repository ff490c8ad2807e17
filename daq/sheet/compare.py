"""What a sheet says against what its record gives: the first texts that differ. Pure."""

from difflib import SequenceMatcher
from html.parser import HTMLParser

from daq.sheet.seal import without_digest
from drivers.printable import shown

MOST_TOLD = 5
"""Differences that are told; of more, how many."""

_HEADER = ("<header>", "</header>")


def differences(given: str, again: str) -> list[str]:
    """How the page that was given differs from the one that the record gives, but for the shop's
    letterhead, which is not in the record; nothing if it does not.
    """
    one, other = _without_letterhead(given), _without_letterhead(again)
    if one == other:
        return []
    said, stands = texts(one), texts(other)
    found = []
    for word, a, b, c, d in SequenceMatcher(None, said, stands, autojunk=False).get_opcodes():
        if word != "equal":
            found.append(_told(said[a:b], stands[c:d]))
    if not found:
        return ["its drawings or its layout are not those that the record gives"]
    more = len(found) - MOST_TOLD
    return found[:MOST_TOLD] + ([f"and {more} more texts differ"] if more > 0 else [])


def _told(said: list[str], stands: list[str]) -> str:
    if not said:
        return f"{_quoted(stands)} is missing on it"
    if not stands:
        return f"it says {_quoted(said)}, of which the record has nothing"
    return f"it says {_quoted(said)}, the record gives {_quoted(stands)}"


def _quoted(words: list[str]) -> str:
    return '"' + shown(" ".join(words), 80) + '"'


def _without_letterhead(page: str) -> str:
    text = without_digest(page)
    before, opening, rest = text.partition(_HEADER[0])
    _, closing, after = rest.partition(_HEADER[1])
    return before + after.removeprefix("\n") if opening and closing else text


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


__all__ = ["differences", "texts"]
