"""What is said of a value that has not the shape of its key: what stands there, and what to write.

The reader of tables speaks of types; people who write plans think of quotes, units and brackets.
"""

import difflib
import re
import tomllib
from collections.abc import Iterator
from typing import Any

import msgspec

from daq.plan.examples import is_known, missing, written
from daq.plan.schema import JournalKeys, PlanFile
from drivers.printable import shown
from drivers.toml_file import WrongKey

MOST_VALUE_SHOWN = 40
MOST_KEYS_SHOWN = 20

# Other words of the trade for keys.
_ALSO = {
    "min": "low",
    "minimum": "low",
    "lower": "low",
    "max": "high",
    "maximum": "high",
    "upper": "high",
    "ovality": "out_of_round",
    "roundness": "out_of_round",
    "angle": "angles_deg",
    "angles": "angles_deg",
    "places": "stations",
    "positions": "stations",
    "times": "repeats",
    "journals": "names",
    "undersizes": "undersize",
    "engine": "part",
    "title": "part",
}


class _Digits(str):
    """A number as it is written in the file."""

    __slots__ = ()


def in_words(wrong: WrongKey, text: str) -> WrongKey:
    """A refusal of `converted`, for a plan of this text, as people speak of it."""
    path = path_of(wrong.key)
    if wrong.reason == "unknown key":
        return WrongKey(wrong.key, _unknown(path))
    if wrong.reason == "this key is required":
        return missing(wrong.key, path) if is_known(path) or path == "journal" else wrong
    kinds = list(_kinds_at(path))
    if not kinds:
        return wrong
    table = tomllib.loads(text, parse_float=_Digits)
    return WrongKey(wrong.key, _shape(path, kinds, _value_at(table, wrong.key), text, wrong.key))


def path_of(key: str) -> str:
    """A key without its numbers: `journal[1].low` is `journal.low`."""
    return re.sub(r"\[\d+\]", "", key)


# Keys that there are not --------------------------------------------------------------------------


def _unknown(path: str) -> str:
    """That a key is not known, and which may be meant."""
    table, _, word = path.rpartition(".")
    own = [name for name in _fields_at(table) if name != "schema"]
    here = sorted(own, key=JournalKeys.__struct_fields__.__contains__)
    others = {name: where for where, name in _all_keys() if where != table}
    meant = _ALSO.get(word.lower(), word)
    if meant in here and meant != word:
        return f"unknown key. Did you mean {meant}?"
    if word in others:
        return f"unknown key here. It stands in {_table_words(others[word])}"
    near = difflib.get_close_matches(word.lower(), here, 1, 0.65)
    if near:
        return f"unknown key. Did you mean {near[0]}?"
    near = difflib.get_close_matches(word.lower(), others, 1, 0.75)
    if near:
        return f"unknown key. Did you mean {near[0]}, in {_table_words(others[near[0]])}?"
    return f"unknown key. Known here: {', '.join(here[:MOST_KEYS_SHOWN])}"


def _table_words(table: str) -> str:
    """A table as it is written."""
    if not table:
        return "the first lines, above all tables"
    return f"[[{table}]]" if table in ("group", "journal", "group.undersize") else f"[{table}]"


def _all_keys() -> Iterator[tuple[str, str]]:
    """Every key with its table; of tables that share one the last stands: the journal's."""
    for table in ("", "check", "temperature", "decision", "study", "group.undersize", "group"):
        yield from ((table, name) for name in _fields_at(table))
    for table in ("defaults", "journal"):
        yield from ((table, name) for name in _fields_at(table))


# What the tables take -----------------------------------------------------------------------------


def _bare(kind: msgspec.inspect.Type) -> Iterator[msgspec.inspect.Type]:
    """The kinds that a value may have, without notes on them."""
    if isinstance(kind, msgspec.inspect.Metadata):
        yield from _bare(kind.type)
    elif isinstance(kind, msgspec.inspect.UnionType):
        for one in kind.types:
            yield from _bare(one)
    elif not isinstance(kind, msgspec.inspect.NoneType):
        yield kind


def _kinds_at(path: str) -> Iterator[msgspec.inspect.Type]:
    """What the key at a path takes, the list itself for a path to an entry of one."""
    kinds = [msgspec.inspect.type_info(PlanFile)]
    for word in path.split(".") if path else ():
        inside = [
            field.type
            for kind in kinds
            for table in (kind, *_items(kind))
            if isinstance(table, msgspec.inspect.StructType)
            for field in table.fields
            if field.encode_name == word
        ]
        kinds = [one for kind in inside for one in _bare(kind)]
    yield from kinds


def _items(kind: msgspec.inspect.Type) -> list[msgspec.inspect.Type]:
    is_list = isinstance(kind, msgspec.inspect.ListType)
    return (
        list(_bare(kind.item_type))
        if isinstance(kind, msgspec.inspect.ListType) and is_list
        else []
    )


def _fields_at(path: str) -> list[str]:
    """The keys of the table at a path."""
    for kind in _kinds_at(path):
        for table in (kind, *_items(kind)):
            if isinstance(table, msgspec.inspect.StructType):
                return [field.encode_name for field in table.fields]
    return []


# Values of another shape --------------------------------------------------------------------------


def _value_at(table: Any, key: str) -> Any:
    """What stands at a key of a table as TOML gives it; None where that cannot be told."""
    found = table
    for step in re.findall(r"[^.\[\]]+|\[\d+\]", key):
        try:
            found = found[int(step[1:-1]) - 1] if step.startswith("[") else found[step]
        except (KeyError, IndexError, TypeError):
            return None
    return found


def _shape(path: str, kinds: list[msgspec.inspect.Type], value: Any, text: str, key: str) -> str:
    """What is wrong with a value, and what to write."""
    word = path.rpartition(".")[2]
    if any(isinstance(kind, msgspec.inspect.StructType) for kind in kinds):
        return f"this is a table: write a line [{path}] and its keys below it"
    tables = [one for kind in kinds for one in _items(kind)]
    if any(isinstance(kind, msgspec.inspect.StructType) for kind in tables):
        return f"each is a table of its own: write a line [[{path}]], with two brackets"
    choices = [
        one
        for kind in kinds
        if isinstance(kind, msgspec.inspect.LiteralType)
        for one in kind.values
    ]
    if choices:
        return _choice(word, choices, value)
    wants_text = any(
        isinstance(kind, msgspec.inspect.StrType) for kind in (*kinds, *_entry(key, tables))
    )
    example = written(path)
    if wants_text and _is_number(value):
        return _number_for_text(path, value, text, key)
    if wants_text and isinstance(value, list):
        return _list_for_text(word, value, example)
    return f"{_shown(value)} does not fit here. {_needed(kinds, key)}: {example}"


def _entry(key: str, items: list[msgspec.inspect.Type]) -> list[msgspec.inspect.Type]:
    """What a list holds, for a key that leads to an entry of one."""
    return items if key.endswith("]") else []


def _choice(word: str, choices: list[Any], value: Any) -> str:
    said = " or ".join(
        f'{word} = "{one}"' if isinstance(one, str) else f"{word} = {one}" for one in choices
    )
    return f"{_shown(value)} is not known here. Write {said}"


def _is_number(value: Any) -> bool:
    return isinstance(value, _Digits | int) and not isinstance(value, bool)


def _number_for_text(path: str, value: Any, text: str, key: str) -> str:
    """A number that stands where a text belongs, with a unit if such a text has one."""
    word = path.rpartition(".")[2]
    number = _shown(value).replace("_", "")
    before = "" if key.endswith("]") else f"{word} = "
    found = re.search(r'\d *(mm|K|/K|s)"', written(path))
    if found is None:
        return f'{number} needs quotes: {before}"{number}"'
    unit = _length_unit(path, value, text, key) if found[1] == "mm" else found[1]
    return f'{number} needs its unit and quotes: {before}"{number} {unit}"'


def _length_unit(path: str, value: Any, text: str, key: str) -> str:
    """The unit that a bare number probably has: that of most lengths in the plan, the other one for
    a cross-check; where there are none, inches for a diameter under 10.
    """
    metric, inch = len(re.findall(r'\d *mm"', text)), len(re.findall(r'\d *in"', text))
    is_inch = inch > metric
    if not metric and not inch and path.rpartition(".")[2] in ("low", "high", "worn_low"):
        is_inch = len(_shown(value).partition(".")[0].lstrip("+-")) < 2
    if key.endswith(("low[2]", "high[2]")):
        is_inch = not is_inch
    return "in" if is_inch else "mm"


def _list_for_text(word: str, value: list[Any], example: str) -> str:
    if word == "name":
        return 'one name stands here. For several journals alike write names = ["M1", "M2"]'
    if len(value) == 1 and isinstance(value[0], str):
        return f'one value, without brackets: {word} = "{shown(value[0], MOST_VALUE_SHOWN)}"'
    return f"one value, not a list: {example}"


def _needed(kinds: list[msgspec.inspect.Type], key: str) -> str:
    """What belongs at a key, as the beginning of a sentence that ends in an example."""
    inspect = msgspec.inspect
    if any(isinstance(kind, inspect.StrType) for kind in kinds):
        return "Write a text in quotes"
    if any(isinstance(kind, inspect.ListType) for kind in kinds):
        items = [one for kind in kinds for one in _items(kind)]
        if any(isinstance(one, inspect.IntType) for one in items):
            return "Write whole numbers without quotes, in brackets"
        return "Write texts in quotes, in brackets"
    if any(isinstance(kind, inspect.BoolType) for kind in kinds):
        return "Write true or false without quotes"
    if any(isinstance(kind, inspect.IntType) for kind in kinds):
        return "Write a whole number without quotes"
    return "Write a number without quotes"


def _shown(value: Any) -> str:
    if value is None:
        return "this"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, _Digits | int):
        return shown(str(value) if not _is_endless(value) else "this number", MOST_VALUE_SHOWN)
    if isinstance(value, str):
        return f'"{shown(value, MOST_VALUE_SHOWN)}"'
    if isinstance(value, list):
        return "a list"
    if isinstance(value, dict):
        return "a table"
    return "a date or a time"


def _is_endless(value: Any) -> bool:
    """An integer too long for its digits to be written out at all."""
    return isinstance(value, int) and value.bit_length() > 4096
