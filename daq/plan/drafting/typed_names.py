"""Names and places as people type them, read: journals, stations, angles.

As `typed`: every function takes one line and raises Misread.
"""

import re
from collections.abc import Sequence

from daq.plan.drafting.typed import Misread, is_none
from daq.plan.fields import check_name
from drivers.printable import shown
from drivers.toml_file import WrongKey

MOST_NAMES = 250

_COUNTS = (
    *("zero", "one", "two", "three", "four", "five", "six"),
    *("seven", "eight", "nine", "ten", "eleven", "twelve"),
)
_RANGE = re.compile(r"(.*?)(\d+)\s*(?:-|\u2013|\.\.)\s*(.*?)(\d+)")


def names_in(text: str, letter: str) -> tuple[str, ...]:
    """How many journals, which are then called M1, M2, ... by `letter`; or their names."""
    if is_none(text):
        return ()
    count = _count(text)
    if count is not None:
        if count > MOST_NAMES:
            raise Misread(f"{count} journals: at most {MOST_NAMES}.")
        return tuple(f"{letter}{number}" for number in range(1, count + 1))
    names: list[str] = []
    for word in words_in(text):
        names += _ranged(word)
        if len(names) > MOST_NAMES:
            raise Misread(f"More than {MOST_NAMES} journals.")
    return _named(names)


def _count(text: str) -> int | None:
    """A number alone, in digits or in words, or before a word, like `5 mains`; None for names."""
    if not text.strip():
        return None
    first, *rest = text.split()
    if rest and not (len(rest) == 1 and rest[0].isalpha() and len(rest[0]) > 2):
        return None
    if first.isascii() and first.isdigit():
        return int(first[:9])
    if first.lower() in _COUNTS:
        return _COUNTS.index(first.lower())
    if not rest and re.fullmatch(r"[+-]?[\d.,]+", first):
        raise Misread(f"{shown(first, 40)} is no number of journals: type how many there are.")
    return None


def words_in(text: str) -> list[str]:
    """Names, apart by commas if there are any, else by blanks."""
    parts = re.split(r"[,;]", text) if re.search(r"[,;]", text) else text.split()
    return [part.strip() for part in parts if part.strip()]


def _ranged(word: str) -> list[str]:
    """M1-M5 is five names."""
    found = _RANGE.fullmatch(word)
    if found is None or found[3] not in ("", found[1]):
        return [word]
    first, last = int(found[2][:9]), int(found[4][:9])
    if not 0 < last - first < MOST_NAMES:
        return [word]
    return [f"{found[1]}{number}" for number in range(first, last + 1)]


def _named(names: Sequence[str]) -> tuple[str, ...]:
    for name in names:
        name_in(name)
    for name in names:
        if list(names).count(name) > 1:
            raise Misread(f"The name {shown(name, 40)} stands there twice.")
    return tuple(names)


def name_in(text: str) -> str:
    """A name that may stand in a plan."""
    try:
        check_name(text, "")
    except WrongKey as wrong:
        raise Misread(f"This is no name: {shown(wrong.reason, 200)}.") from wrong
    return text


def stations_in(text: str) -> tuple[str, ...]:
    """Names of places along a journal; 1, 2 or 3 for the usual names of so many."""
    usual = {"1": ("middle",), "2": ("front", "rear"), "3": ("front", "middle", "rear")}
    if text.strip() in usual:
        return usual[text.strip()]
    if text.strip().isdigit():
        raise Misread("Type the names of the places, like front, middle, rear; or 1, 2 or 3.")
    found = _named(words_in(text))
    if not found:
        raise Misread("A journal is measured at one place at least.")
    return found


def angles_in(text: str) -> tuple[int, ...]:
    """Angles in whole degrees; a single number from 2 to 12 is how many, evenly spaced."""
    words = re.findall(r"[^\s,;°]+", text)
    if not words:
        raise Misread("Type the angles, like 0 45 90 135, or how many.")
    if not all(word.isascii() and word.isdigit() and len(word) <= 4 for word in words):
        raise Misread("Type whole degrees, like 0 45 90 135, or how many.")
    numbers = [int(word) for word in words]
    if len(numbers) == 1 and 2 <= numbers[0] <= 12:
        return tuple(180 * number // numbers[0] for number in range(numbers[0]))
    for number in numbers:
        if number > 179:
            raise Misread(
                f"{number}° is the same diameter as {number % 180}°: type angles from 0 to 179."
            )
    if len(set(numbers)) != len(numbers):
        raise Misread("An angle stands there twice.")
    return tuple(numbers)


def strip_in(text: str, groups: Sequence[tuple[str, Sequence[str]]]) -> tuple[str, ...]:
    """Names of journals, or of groups for all of theirs."""
    if is_none(text):
        return ()
    everyone = [name for _, journals in groups for name in journals]
    by_name = {name.lower(): [name] for name in everyone}
    by_name |= {group.lower(): list(journals) for group, journals in groups if group}
    by_name["all"] = everyone
    wanted: set[str] = set()
    for word in words_in(text):
        named = by_name.get(word.lower())
        if named is None:
            raise Misread(f"There is no journal or group {shown(word, 40)}.")
        wanted |= set(named)
    return tuple(name for name in everyone if name in wanted)
