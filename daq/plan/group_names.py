"""Group names that one hand wrote in two ways: "mains" here and "main" there. Pure.

A journal whose group is misspelt makes a group of its own, and the answer for the right group is
given without it. For files that people write only: a recorded plan stands as it was measured.
"""

import re
import unicodedata
from collections import Counter
from collections.abc import Iterator

import msgspec

from daq.plan.fields import quoted
from daq.plan.levels import told_journals
from daq.plan.schema import PlanFile
from drivers.toml_file import WrongKey

FEWEST_LETTERS = 4
"""Shorter names that differ in a letter are taken for different words, like "pin" and "pan"."""

# What tells things apart that have one name, and is no slip of the hand: numbers, and words of one
# letter or a small Roman number, as in "rods 1", "bank A", "row L", "bank II".
_COUNTER = re.compile(r"\d+|\b(?:[^\W\d_]|[ivx]+)\b")
_NO_LETTER = re.compile(r"[\W\d_]+")


class _Name(msgspec.Struct, frozen=True):
    """A name as it is compared: its letters in one case, and its counters."""

    letters: str
    counters: tuple[str, ...]


def alike(one: str, other: str) -> bool:
    """Whether two different names look like one that was written in two ways: they differ by case,
    blanks, plural, one letter or two exchanged letters. Names with different counters never do.
    """
    return one != other and _alike(_compared(one), _compared(other))


def _alike(first: _Name, second: _Name) -> bool:
    if first.counters != second.counters:
        return False
    if first.letters == second.letters:
        return bool(first.letters or first.counters)
    return _by_a_letter(first.letters, second.letters)


def _compared(name: str) -> _Name:
    text = unicodedata.normalize("NFKC", name).casefold().replace("_", " ")
    return _Name(_NO_LETTER.sub("", _COUNTER.sub(" ", text)), tuple(_COUNTER.findall(text)))


def _by_a_letter(one: str, other: str) -> bool:
    short, long = (one, other) if len(one) <= len(other) else (other, one)
    if not short or len(long) > len(short) + 2:
        return False
    if long in (f"{short}s", f"{short}es", f"{short.removesuffix('y')}ies"):
        return True
    if len(short) < FEWEST_LETTERS or len(long) > len(short) + 1:
        return False
    if len(long) > len(short):
        return any(long[:at] + long[at + 1 :] == short for at in range(len(long)))
    off = [at for at in range(len(short)) if short[at] != long[at]]
    if len(off) != 2:
        return len(off) == 1
    first, second = off
    return (short[first], short[second]) == (long[second], long[first])


def check_group_names(file: PlanFile) -> None:
    """Refuse a group whose name looks like another's: a declared one's, else the one of more
    journals. Raises WrongKey where the less trusted of the two names stands.
    """
    seen: dict[str, list[tuple[int, str, _Name]]] = {}
    for number, (name, key) in enumerate(_places(file)):
        compared = _compared(name)
        marks = _marks(compared.letters)
        near = [one for mark in marks for one in seen.get(mark, ()) if _alike(one[2], compared)]
        if near:
            _, trusted, _ = min(near, key=lambda one: one[0])
            raise WrongKey(key, _words(name, trusted, is_declared=key.endswith(".name")))
        for mark in marks:
            seen.setdefault(mark, []).append((number, name, compared))


def _marks(letters: str) -> set[str]:
    """What two names that look alike have one of in common, so that not every two of a long plan
    are compared: all letters but one, or but the end of a plural; or the same letters in any order.
    """
    shorter = {letters[:at] + letters[at + 1 :] for at in range(len(letters))}
    singular = {letters.removesuffix("es"), f"{letters.removesuffix('ies')}y"}
    return {letters, "".join(sorted(letters))} | shorter | singular


def _words(name: str, trusted: str, *, is_declared: bool) -> str:
    like = f"group {quoted(name)} looks like group {quoted(trusted)}"
    if is_declared:
        return (
            f"{like}: make one group of the two, or give it a name that differs by more than a "
            "letter"
        )
    return (
        f"{like}: write group = {quoted(trusted)}, or give it a name of its own that differs by "
        "more than a letter"
    )


def _places(file: PlanFile) -> Iterator[tuple[str, str]]:
    """Every group's name once, the most trusted first: declared ones in the order of the file, then
    others by the number of their journals. With each where it first stands.
    """
    declared = [table.name for table in file.group]
    for number, name in enumerate(declared, 1):
        yield name, f"group[{number}].name"
    used: dict[str, str] = {}
    journals: Counter[str] = Counter()
    for told in told_journals(file):
        if told.group and told.group not in declared:
            used.setdefault(told.group, told.at("group"))
            journals[told.group] += 1
    yield from ((name, used[name]) for name, _ in journals.most_common())
