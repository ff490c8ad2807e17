"""A plan's table as the text of its file, with remarks for whoever reads it. Pure.

Lines stand in an order that people read in: what, how it is checked, what holds for all, groups,
journals. Values are as they were given; a key that nobody here knows is written too.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from daq.lengths import parse_length
from daq.plan.drafting.remarks import END, Place, Remark
from daq.plan.drafting.units import other_text

_ORDER = ("schema", "part", "check", "temperature", "decision", "study", "defaults", "group")
_KEYS = (
    *("name", "names", "group", "kind", "access", "stack", "present_undersize", "by", "low"),
    *("high", "out_of_round", "taper", "stations", "station_at", "angles_deg", "repeats", "window"),
)
_WIDTH = 96
MARK = "# Made by jbridge plan new"
HEAD = (
    f"{MARK}; lines can be changed by hand, or by the same command.",
    "# Lengths carry their unit. What a journal does not say, its group says, then [defaults].",
    "# Hold every number against the maker's manual.",
)


def plan_text(table: Mapping[str, Any], remarks: Mapping[Place, Remark]) -> str:
    """The file; `remarks` stand where they belong."""
    lines = [*_table(table, "", remarks), *remarks.get(END, Remark()).lead]
    return "\n".join(lines).strip("\n") + "\n"


def _table(table: Mapping[str, Any], path: str, remarks: Mapping[Place, Remark]) -> Iterator[str]:
    """A table's own keys, then the tables below it, each with a header."""
    order = _ORDER if not path else _KEYS
    keys = sorted(table, key=lambda key: order.index(key) if key in order else len(order))
    for key in keys:
        value = table[key]
        if isinstance(value, dict) or _is_tables(value):
            continue
        remark = remarks.get((path, key), Remark())
        yield from remark.lead
        line = f"{_key(key)} = {_value(value)}"
        yield f"{line.ljust(31)} {remark.behind}" if remark.behind else line
    for key in keys:
        value = table[key]
        inner = f"{path}.{key}".lstrip(".")
        if isinstance(value, dict):
            yield from _headed(value, inner, f"[{_unnumbered(inner)}]", remarks)
        elif _is_tables(value):
            for number, one in enumerate(value, 1):
                head = f"[[{_unnumbered(inner)}]]"
                yield from _headed(one, f"{inner}[{number}]", head, remarks)


def _headed(
    table: Mapping[str, Any], path: str, head: str, remarks: Mapping[Place, Remark]
) -> Iterator[str]:
    remark = remarks.get((path, ""), Remark())
    yield ""
    yield from remark.lead
    yield f"{head.ljust(31)} {remark.behind}" if remark.behind else head
    yield from _table(table, path, remarks)


def _is_tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and isinstance(value[0], dict)


def _unnumbered(path: str) -> str:
    return ".".join(_key(part.partition("[")[0]) for part in path.split("."))


def _key(text: str) -> str:
    is_bare = text.isascii() and text.replace("-", "").replace("_", "").isalnum()
    return text if is_bare else quoted(text)


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, list):
        return _list([_value(one) for one in value])
    return str(value)


def _list(words: Sequence[str]) -> str:
    """A list on one line, or on as many as it takes."""
    line = f"[{', '.join(words)}]"
    if len(line) <= _WIDTH - 12:
        return line
    lines, now = [], ""
    for word in words:
        if now and len(now) + len(word) + 6 > _WIDTH:
            lines.append(now)
            now = ""
        now = f"{now} {word}," if now else f"{word},"
    return "[\n" + "".join(f"    {one}\n" for one in (*lines, now)) + "]"


def quoted(text: str) -> str:
    """A TOML basic string; what cannot be printed is escaped, marks that turn writing too."""
    return '"' + "".join(map(_char, text)) + '"'


def _char(char: str) -> str:
    if char in '"\\':
        return f"\\{char}"
    if char.isprintable():
        return char
    code = ord(char)
    return f"\\u{code:04X}" if code <= 0xFFFF else f"\\U{code:08X}"


# Remarks of this program --------------------------------------------------------------------------


def our_remarks(table: Mapping[str, Any]) -> dict[Place, Remark]:
    """What this program remarks in a plan: the other unit of each pair of limits, and what the
    few keys mean that are no words of the trade.
    """
    found: dict[Place, Remark] = {}

    def behind(path: str, key: str, words: str) -> None:
        found[path, key] = Remark(behind=f"# {words}")

    defaults = table.get("defaults", {})
    if "angles_deg" in defaults:
        behind("defaults", "angles_deg", "180 degrees on is the same diameter")
    if "stations" in defaults:
        behind("defaults", "stations", "places along each journal")
    for number, group in enumerate(table.get("group", ()), 1):
        path = f"group[{number}]"
        for key in ("low", "high"):
            if isinstance(group.get(key), str):
                _in_other(found, path, key, group[key])
        if "stack" in group:
            behind(path, "stack", "the gauge is checked on it, before and after")
        for place, step in enumerate(group.get("undersize", ()), 1):
            for key in ("low", "high"):
                if isinstance(step.get(key), str):
                    _in_other(found, f"{path}.undersize[{place}]", key, step[key])
    for number, journal in enumerate(table.get("journal", ()), 1):
        if journal.get("access") == "after-strip":
            behind(f"journal[{number}]", "access", "asked for last")
    return found


def _in_other(found: dict[Place, Remark], path: str, key: str, text: str) -> None:
    try:
        other = other_text(parse_length(text))
    except ValueError:
        return
    found[path, key] = Remark(behind=f"# {other}")
