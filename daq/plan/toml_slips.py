"""What is probably meant by a line that is no TOML: the slips of a hand that writes plans. Pure."""

import re

from drivers.printable import shown

MOST_LINE_SHOWN = 60

_AT = re.compile(r" \(at line (\d+), column \d+\)$| \(at end of document\)$")
_NUMBER = r"[+-]?\d+(?:[.,]\d+)?"
_ASSIGNED = re.compile(r"\s*([\w-]+)\s*=\s*(.*?)\s*(?:#.*)?$", re.DOTALL)
_UNIT = {"mm": "mm", "um": "um", "in": "in", "inch": "in", '"': "in", "k": "K", "s": "s"}
_CURLY = "\u201c\u201d\u201e\u201f\u2018\u2019\u201a\u00ab\u00bb\u2033\u2032`"
"""Marks that a word processor or a keyboard makes of straight quotes."""
_TABLES = "check, temperature, decision, study, group, defaults, journal"


def slip_words(text: str, said: str) -> str:
    """What is wrong in a text that the TOML reader refused with `said`, and what to write."""
    if _AT.search(said) is None:
        return f"this is no plan: {_plain(said)}"
    reason = _AT.sub("", said)
    number, line = _line(text, said, reason)
    why = _why(line, reason)
    return f"line {number}, {shown(line.strip(), MOST_LINE_SHOWN)}: {why}"


def _line(text: str, said: str, reason: str) -> tuple[int, str]:
    """The number of the line at fault, and the line."""
    lines = text.split("\n")
    found = _AT.search(said)
    at = int(found[1]) if found is not None and found[1] else len(lines)
    while at > 1 and not lines[at - 1].strip():
        at -= 1
    if reason.startswith("Unclosed"):  # it began on an earlier line, perhaps
        for number in range(at, 0, -1):
            if lines[number - 1].count("[") > lines[number - 1].count("]"):
                return number, lines[number - 1]
    return at, lines[at - 1]


def _why(line: str, reason: str) -> str:
    if any(mark in line for mark in _CURLY):
        straight = line.translate(dict.fromkeys(map(ord, _CURLY), '"')).strip()
        return f"these are not straight quotes: write {shown(straight, MOST_LINE_SHOWN)}"
    if line.lstrip().startswith("["):
        return _table_words(line, reason)
    if reason.startswith("Cannot overwrite"):
        return "this key stands twice in its table: keep one of the two"
    assigned = _ASSIGNED.match(line)
    if assigned is None:
        return _no_key(line, reason)
    return _value_words(assigned[1], assigned[2]) or f"this cannot be read ({_plain(reason)})"


def _table_words(line: str, reason: str) -> str:
    name = line.strip(" \t\r[]#") or "journal"
    if reason.startswith("Cannot"):
        word = re.match(r"\w*", name)
        one = word[0] if word else name
        if one in ("journal", "group"):
            return f"every {one} has its own table: write [[{one}]] each time, with two brackets"
        return f"the table [{shown(one, 20)}] stands twice: put their keys into one"
    brackets = "[[{}]]" if name.startswith(("journal", "group")) else "[{}]"
    return f"a bracket is missing: write {brackets.format(shown(name, 20))}"


def _no_key(line: str, reason: str) -> str:
    found = re.match(r"\s*([\w-]+(?: +[\w-]+)*)\s*[:=]\s*(.+)", line)
    if found is not None:
        key = re.sub(r"\W+", "_", found[1])
        return (
            f"write the key in one word and an equals sign: {key} = {shown(found[2].strip(), 40)}"
        )
    found = re.match(r"\s*([\w-]+)\s+(\S.*)", line)
    if found is not None:
        return f"an equals sign is missing: {found[1]} = {shown(found[2].strip(), 40)}"
    return (
        f"this cannot be read ({_plain(reason)}). A line is key = value, a table ({_TABLES}) in "
        "brackets, or a note after #"
    )


def _value_words(key: str, value: str) -> str:
    """What is wrong in the value of a key; "" where nothing is known of it."""
    key = shown(key, 30)
    if not value:
        return f'the value is missing: {key} = "..."'
    length = re.fullmatch(rf'({_NUMBER}) *(mm|um|in|inch|"|K|s)', value, re.IGNORECASE)
    if length is not None:
        number, unit = length[1].replace(",", "."), _UNIT[length[2].lower()]
        return f'a value with a unit needs quotes: {key} = "{number} {unit}"'
    if re.fullmatch(_NUMBER, value) and "," in value:
        point = value.replace(",", ".")
        return f'a point, not a comma; a length needs its unit and quotes: {key} = "{point} mm"'
    if re.fullmatch(r"[+-]?(?:\.\d+|\d+\.|0\d+(?:\.\d+)?)", value):
        return (
            "a number needs a digit before and after the point, and no zero in front; a length "
            f'needs its unit and quotes: {key} = "0.5 mm"'
        )
    if value.lower() in ("true", "false", "yes", "no", "on", "off"):
        word = "true" if value.lower() in ("true", "yes", "on") else "false"
        return f"write it small: {key} = {word}"
    if value[0] in "\"'":
        quote = value[0]
        if quote not in value[1:]:
            return f"the closing quote is missing: {key} = {shown(value, 40)}{quote}"
        return "something stands after the closing quote: one key on each line, notes after #"
    if value[0] == "[":
        return (
            "a list needs commas between its values and a bracket at its end: "
            f"{key} = {_list_of(value)}"
        )
    if re.fullmatch(r"[^\W\d][^\"'\[\]{}=]*", value):
        return f'a text needs quotes: {key} = "{shown(value, 40)}"'
    return ""


def _list_of(value: str) -> str:
    """A list as it may be meant, with the parts that can be told."""
    parts = re.findall(r'"[^"\n]*"|[^\s,\[\]"]+', value)
    return shown(f"[{', '.join(parts)}]", MOST_LINE_SHOWN)


def _plain(reason: str) -> str:
    return shown(reason[:1].lower() + reason[1:], 80)
