"""Where something stands in a plan, in the words of the trade: "journal 3 (M3), low". Pure."""

import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from drivers.printable import shown

MOST_NAME_SHOWN = 30
MOST_NAMES_SHOWN = 12

_STEP = re.compile(r"(.+?)\[(\d+)\]")
_TABLES = ("check", "temperature", "decision", "study", "defaults")


def place_words(key: str, reason: str, names: Mapping[str, str]) -> str:
    """A key like `journal[3].low` in words; `names` has the names of the tables that have one, by
    their keys. Empty for the file as a whole; a `reason` that begins with the key itself stands
    after its table.
    """
    words: list[str] = []
    so_far = ""
    for step in key.split(".") if key else ():
        so_far = f"{so_far}.{step}".lstrip(".")
        words.append(_step_words(step, names.get(so_far, ""), is_first=not words))
    if len(words) > 1 and reason.startswith(f"{words[-1]} "):
        words.pop()
    return ", ".join(words)


def several(names: Sequence[str]) -> str:
    """Names one after another, cut short where they are many."""
    if len(names) <= MOST_NAMES_SHOWN:
        return ", ".join(names)
    return f"{', '.join(names[:MOST_NAMES_SHOWN])} and {len(names) - MOST_NAMES_SHOWN} more"


def told(key: str, reason: str, names: Mapping[str, str]) -> str:
    """What is to be said of a key, after where it stands; a journal is named once, and a reason
    that begins with several names needs no place.
    """
    name = names.get(key.rpartition(".")[0], "")
    if name and reason.startswith(f"{name}, "):
        return reason
    reason = reason.removeprefix(f"{name}: ")
    place = place_words(key, reason, names)
    return f"{place}: {reason}" if place else reason


def _step_words(step: str, name: str, *, is_first: bool) -> str:
    if is_first and step in _TABLES:
        return f"[{step}]"
    found = _STEP.fullmatch(step)
    if found is None:
        return shown(step)
    word, number = shown(found[1]), found[2]
    if name:
        return f"{word} {number} ({shown(name, MOST_NAME_SHOWN)})"
    if word in ("journal", "group", "undersize"):
        return f"{word} {number}"
    return f"{word}, entry {number}"


def names_in(text: str) -> dict[str, str]:
    """The names of journals, groups and undersizes in a plan's text, by the keys of their tables,
    whatever else is wrong with it.
    """
    try:
        table = tomllib.loads(text)
    except (ValueError, RecursionError):
        return {}
    found: dict[str, str] = {}
    for kind in ("journal", "group"):
        _add(found, table.get(kind), kind)
    for key, group in _tables(table.get("group"), "group"):
        _add(found, group.get("undersize"), f"{key}.undersize")
    return found


def _add(found: dict[str, str], value: object, kind: str) -> None:
    for key, table in _tables(value, kind):
        name, names = table.get("name"), table.get("names")
        if isinstance(name, str) and name:
            found[key] = name
        elif isinstance(names, list):
            found[key] = ", ".join(one for one in names if isinstance(one, str))


def _tables(value: object, kind: str) -> list[tuple[str, dict[str, Any]]]:
    """The tables of a list of tables, each with its key."""
    if not isinstance(value, list):
        return []
    numbered = enumerate(value, 1)
    return [(f"{kind}[{number}]", one) for number, one in numbered if isinstance(one, dict)]
