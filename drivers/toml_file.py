"""Small TOML files of people's making: text, table and record, each refused with a reason."""

import errno
import re
import tomllib
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, get_args

import msgspec

from drivers.plain_file import plain_bytes
from drivers.printable import shown

_T = TypeVar("_T")


class WrongKey(Exception):
    """What is wrong at which `key` ("" for the file as a whole); the caller names the file.

    Array places in a key count from 1, as people count.
    """

    def __init__(self, key: str, reason: str) -> None:
        self.key = key
        self.reason = reason
        super().__init__(f"key {key}: {reason}" if key else reason)


def need(fits: bool, key: str, reason: str) -> None:
    """Raises WrongKey where something does not fit."""
    if not fits:
        raise WrongKey(key, reason)


def text_in(path: Path, most_bytes: int) -> str:
    """A file's text, UTF-8 with or without a byte-order mark, at most `most_bytes` long."""
    try:
        data = plain_bytes(path, most_bytes)
    except OSError as error:
        if error.errno == errno.EFBIG:
            raise WrongKey("", str(error.strerror)) from error
        raise WrongKey("", f"cannot be read: {error.strerror}") from error
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise WrongKey("", f"not UTF-8 text: {error}") from error


def table_in(text: str, schema: int) -> dict[str, Any]:
    """The table of a TOML text whose `schema` must be `schema`."""
    try:
        table = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        # A number of thousands of digits or nesting as deep passes tomllib's own error by.
        raise WrongKey("", f"not a TOML file: {error}") from error
    given = table.get("schema")
    if given != schema or isinstance(given, bool):
        raise WrongKey("schema", f"write schema = {schema}: this program reads schema {schema}")
    return table


def known_only(
    value: object, kind: type[msgspec.Struct] | None, key: str = ""
) -> tuple[object, tuple[str, ...]]:
    """A table without the keys that the record `kind` has no field for, at any depth, and those
    keys; `key` is the place of `value` itself.

    In a list each table is taken so. What is no table stays as it is: whether it fits is for
    `converted` to say.
    """
    if kind is None or not isinstance(value, dict | list):
        return value, ()
    unknown: list[str] = []

    def part(inner: object, inner_kind: type[msgspec.Struct] | None, place: str) -> object:
        found, left_out = known_only(inner, inner_kind, place)
        unknown.extend(left_out)
        return found

    if isinstance(value, list):
        items = [part(item, kind, f"{key}[{number}]") for number, item in enumerate(value, 1)]
        return items, tuple(unknown)
    kinds = _records_by_key(kind)
    table = {}
    for name, inner in value.items():
        place = f"{key}.{name}".lstrip(".")
        if name in kinds:
            table[name] = part(inner, kinds[name], place)
        else:
            unknown.append(place)
    return table, tuple(unknown)


@cache
def _records_by_key(kind: type[msgspec.Struct]) -> dict[str, type[msgspec.Struct] | None]:
    """The keys of a record, each with the record that its field holds, or None."""
    return {field.encode_name: _record_in(field.type) for field in msgspec.structs.fields(kind)}


def _record_in(kind: object) -> type[msgspec.Struct] | None:
    """The record itself, or the one that a list, a union or an annotation of it holds."""
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        return kind
    return next(filter(None, map(_record_in, get_args(kind))), None)


def converted(table: object, kind: type[_T], where: str = "") -> _T:
    """A table as a checked record; `where` stands before the keys of its errors."""
    try:
        return msgspec.convert(table, kind)
    except msgspec.ValidationError as error:
        reason, _, path = str(error).partition(" - at `$")
        key = path.rstrip("`").lstrip(".")
        for pattern, said in (
            (r"unknown field `([^`]*)`", "unknown key"),
            (r"missing required field `([^`]*)`", "this key is required"),
        ):
            found = re.search(pattern, reason)
            if found:
                key, reason = f"{key}.{found[1]}".lstrip("."), said
        reason = _choice_words(kind, key, reason) or _shape_words(reason.replace("`", ""))
        key = re.sub(r"\[(\d+)\]", lambda index: f"[{int(index[1]) + 1}]", key)
        raise WrongKey(".".join(filter(None, (where, key))), reason) from error


def _choice_words(kind: object, key: str, reason: str) -> str:
    """What msgspec says of a word that is none of those that a key takes, as what to write there
    instead; "" if it says something else.
    """
    found = re.fullmatch(r"Invalid (?:enum )?value (.+)", reason, re.DOTALL)
    steps = re.findall(r"\[[^\]]*\]|[^.\[\]]+", key)
    known = sorted(set(_choices(msgspec.inspect.type_info(kind), steps)), key=str) if found else []
    if found is None or not known:
        return ""
    any_of_them = " or ".join(f'"{one}"' if isinstance(one, str) else str(one) for one in known)
    misfit = shown(found[1])
    return f"{misfit} is not known here: write {any_of_them}"


def _choices(kind: msgspec.inspect.Type, steps: Sequence[str]) -> Iterator[object]:
    """The words and numbers that may stand at a place within a kind, the tags of records too."""
    match kind:
        case msgspec.inspect.Metadata(type=inner):
            yield from _choices(inner, steps)
        case msgspec.inspect.UnionType(types=kinds):
            for one in kinds:
                yield from _choices(one, steps)
        case msgspec.inspect.LiteralType(values=values) if not steps:
            yield from values
        case (
            msgspec.inspect.ListType(item_type=inner)
            | msgspec.inspect.VarTupleType(item_type=inner)
            | msgspec.inspect.DictType(value_type=inner)
        ) if steps:
            yield from _choices(inner, steps[1:])
        case msgspec.inspect.StructType(fields=fields, tag=tag, tag_field=name) if steps:
            if tag is not None and list(steps) == [name]:
                yield tag
            for field in fields:
                if field.encode_name == steps[0]:
                    yield from _choices(field.type, steps[1:])


_SHAPES = {
    "str": 'text in quotes, like "text"',
    "int": "a whole number",
    "float": "a number",
    "bool": "true or false",
    "array": "a list in [ ]",
    "object": "a table",
}
_BOUNDS = {
    ">=": "{} or more",
    "<=": "{} at most",
    ">": "more than {}",
    "<": "less than {}",
    "": "exactly {}",
}
_FOUND = {
    "str": "text",
    "int": "a number",
    "float": "a number with a point",
    "bool": "true or false",
    "array": "a list",
    "object": "a table",
    "date": "a date without quotes",
}


def _shape_words(reason: str) -> str:
    """What msgspec says of a value of another shape, as what to write there instead."""
    found = re.fullmatch(
        r"Expected ([a-z |]+?)(?: of length)?(?: (>=|<=|>|<|)? ?([0-9.]+))?(?:, got (\w+))?", reason
    )
    if found is None:
        return reason
    kinds = [_SHAPES[kind] for kind in found[1].split(" | ") if kind in _SHAPES]
    said = f"write {' or '.join(kinds)}"
    if found[3]:
        number = found[3].removesuffix(".0")
        said += ": " + _BOUNDS[found[2] or ""].format(number)
    return f"{said}, not {_FOUND[found[4]]}" if found[4] in _FOUND else said
