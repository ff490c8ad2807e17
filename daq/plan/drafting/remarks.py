"""The remarks that people wrote into a TOML file, each with the place that it belongs to. Pure.

A remark stands before a key or a table, or behind a value. Its place is the table's path and the
key, so that it can be written back when the values are written anew.
"""

import re
from collections.abc import Mapping
from typing import Any, TypeAlias

import msgspec

Place: TypeAlias = tuple[str, str]
"""The path of a table, like "group[2].undersize[1]", "" for the top, and a key, "" for its head."""

END: Place = ("", "the end")

_HEADER = re.compile(r"\s*(\[\[?)\s*([A-Za-z0-9_.\-\s]+?)\s*\]\]?\s*(#.*)?")
_KEY = re.compile(r"\s*([A-Za-z0-9_-]+|\"[^\"]*\"|'[^']*')\s*=")


class Remark(msgspec.Struct, frozen=True):
    """`lead`: whole lines before the place; `behind`: what stands behind its value. With `#`."""

    lead: tuple[str, ...] = ()
    behind: str = ""


def remarks_in(text: str) -> dict[Place, Remark]:
    """All remarks of a TOML text, by place; those inside a list of several lines belong to its key.

    Remarks at the end of the file are those of END.
    """
    found: dict[Place, Remark] = {}
    counts: dict[str, int] = {}
    table = ""
    lead: list[str] = []
    lines = iter(text.splitlines())
    for line in lines:
        if not line.strip():
            continue
        if line.lstrip().startswith("#"):
            lead.append(line.strip())
            continue
        header = _HEADER.fullmatch(line)
        if header is not None and not _KEY.match(line):
            table = _path(header[2], header[1] == "[[", counts)
            place, behind = (table, ""), header[3] or ""
        else:
            key = _KEY.match(line)
            value = line[key.end() :] if key else line
            inner: list[str] = []
            behind, is_open = _behind(value)
            while is_open:
                more = next(lines, None)
                if more is None:
                    break
                inner += [behind] if behind else []
                value = f"{_without(value)}\n{more}"
                behind, is_open = _behind(value)
            lead += inner
            place = (table, key[1].strip("\"'") if key else "")
        if lead or behind:
            found[place] = Remark(tuple(lead), behind.strip())
        lead = []
    if lead:
        found[END] = Remark(tuple(lead))
    return found


def _path(name: str, is_list: bool, counts: dict[str, int]) -> str:
    """The path of a table with its number, as the messages about a plan write it."""
    parts = [part.strip() for part in name.split(".")]
    path = ""
    for number, part in enumerate(parts):
        path = f"{path}.{part}".lstrip(".")
        if number == len(parts) - 1 and is_list:
            counts[path] = counts.get(path, 0) + 1
        if path in counts:
            path = f"{path}[{counts[path]}]"
    return path


def _scan(value: str) -> tuple[int, bool]:
    """Where a remark begins behind the value (or its length), and whether the value goes on."""
    quote, depth, at = "", 0, 0
    while at < len(value):
        char = value[at]
        if quote:
            if char == "\\" and quote[0] == '"':
                at += 2
                continue
            if value.startswith(quote, at):
                at += len(quote)
                quote = ""
                continue
        elif char in "\"'":
            quote = char * 3 if value.startswith(char * 3, at) else char
            at += len(quote)
            continue
        elif char in "[{":
            depth += 1
        elif char in "]}":
            depth -= 1
        elif char == "#":
            return at, depth > 0
        at += 1
    return len(value), depth > 0 or len(quote) == 3


def _behind(value: str) -> tuple[str, bool]:
    """The remark behind a value, and whether the value goes on in the next line."""
    at, is_open = _scan(value)
    return value[at:].strip(), is_open


def _without(value: str) -> str:
    return value[: _scan(value)[0]]


def without(found: Mapping[Place, Remark], ours: Mapping[Place, Remark]) -> dict[Place, Remark]:
    """The remarks that people wrote: those of a file less those that this program writes."""
    written = {line for one in ours.values() for line in (*one.lead, one.behind)}
    left = {}
    for place, one in found.items():
        lead = tuple(line for line in one.lead if line not in written)
        behind = "" if one.behind in written else one.behind
        if lead or behind:
            left[place] = Remark(lead, behind)
    return left


def moved(
    found: Mapping[Place, Remark], before: Mapping[str, Any], after: Mapping[str, Any]
) -> dict[Place, Remark]:
    """Each remark at the place that its table has in another plan, tables of a list known by their
    names; END gathers those whose table or key is gone.
    """
    ids = {_named(before, path): path for path in _paths(before)}
    new = {ids[name]: path for path in _paths(after) if (name := _named(after, path)) in ids}
    placed: dict[Place, Remark] = {}
    homeless: list[str] = []
    for (path, key), one in found.items():
        to = (new.get(path, path), key)
        if (path, key) != END and _is_there(after, to):
            placed[to] = one
        else:
            homeless += [*one.lead, *filter(None, (one.behind,))]
    if homeless:
        placed[END] = Remark(tuple(homeless))
    return placed


def _paths(table: Mapping[str, Any], above: str = "") -> list[str]:
    found = []
    for key, value in table.items():
        path = f"{above}.{key}".lstrip(".")
        if isinstance(value, dict):
            found += [path, *_paths(value, path)]
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            for number, inner in enumerate(value, 1):
                found += [f"{path}[{number}]", *_paths(inner, f"{path}[{number}]")]
    return found


def _at(table: Mapping[str, Any], path: str) -> Any:
    found: Any = table
    for part in filter(None, path.split(".")):
        name, _, number = part.partition("[")
        found = found.get(name) if isinstance(found, dict) else None
        if number and isinstance(found, list):
            place = int(number.rstrip("]"))
            found = found[place - 1] if place <= len(found) else None
    return found


def _named(table: Mapping[str, Any], path: str) -> str:
    """The path with the names of its tables in the place of their numbers."""
    words = []
    above = ""
    for part in path.split("."):
        above = f"{above}.{part}".lstrip(".")
        found = _at(table, above)
        name = (
            found.get("name") or (found.get("names") or [""])[0] if isinstance(found, dict) else ""
        )
        words.append(f"{part.partition('[')[0]}={name}")
    return ".".join(words)


def _is_there(table: Mapping[str, Any], place: Place) -> bool:
    found = _at(table, place[0])
    return isinstance(found, dict) and (not place[1] or place[1] in found)
