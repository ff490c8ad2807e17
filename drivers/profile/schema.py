"""The JSON Schema of profile files, made from the records that read them and the words of this
package's reference.

A schema knows shapes; what goes with what (`length` without `end`, nibbles that fill the frame)
only `parse_profile` knows. What this schema refuses the program refuses, not the other way round.
"""

import inspect
import re
from typing import Any

import msgspec

import drivers.profile
from drivers.profile.bcd_spec import NIBBLES
from drivers.profile.file import SCHEMA, ProfileKeys
from drivers.profile.kinds import BCD, KINDS, MODBUS, TEXT, keys_of_other_kinds
from drivers.profile.layout_spec import NAMED, Lit, Spaces

_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def reference() -> str:
    """The reference of profile schema 1 as Markdown; empty where Python drops docstrings."""
    return inspect.cleandoc(drivers.profile.__doc__ or "").partition("\n\n")[2]


def json_schema() -> dict[str, Any]:
    """The schema (JSON Schema 2020-12) of a profile file read as TOML."""
    tokens = {TEXT: (Lit, Spaces, *NAMED.values()), BCD: tuple(NIBBLES.values())}
    _, parts = msgspec.json.schema_components(
        [ProfileKeys, *tokens[TEXT], *tokens[BCD]], ref_template="#/$defs/{name}"
    )
    words = _words()
    for part in parts.values():
        part["properties"] = {
            key: _without_null(schema) for key, schema in part["properties"].items()
        }
    root: dict[str, Any] = parts.pop(ProfileKeys.__name__)
    _describe(root, words["File"])
    for table, schema in root["properties"].items():
        named = schema.get("items", schema).get("$ref", "").removeprefix("#/$defs/")
        if named:
            _describe(parts[named], words[table])
    for kind, records in tokens.items():
        for record in records:
            _describe(parts[record.__name__], words[f"{kind} {_heading(parts[record.__name__])}"])
    root["properties"]["schema"] |= {"const": SCHEMA}
    names = {kind: [record.__name__ for record in records] for kind, records in tokens.items()}
    return {
        "$schema": _DIALECT,
        **root,
        "title": "journalbridge gauge profile, schema 1",
        "allOf": [_of_kind(kind, names.get(kind, [])) for kind in KINDS],
        "$defs": dict(sorted(parts.items())),
    }


def _without_null(schema: dict[str, Any]) -> dict[str, Any]:
    """A key's schema for TOML, which has no null: what may be left out is simply not there."""
    of = [one for one in schema.get("anyOf", ()) if one != {"type": "null"}]
    rest = {key: value for key, value in schema.items() if key not in ("anyOf", "default")}
    default = schema.get("default")
    if default is not None and default not in ({}, []) and not isinstance(default, dict):
        rest["default"] = default
    return {**rest, **(of[0] if len(of) == 1 else {"anyOf": of} if of else {})}


def _heading(part: dict[str, Any]) -> str:
    """What the reference calls a token: the `name` that chooses it, else its own key."""
    name = part["properties"].get("name")
    return str(name["enum"][0]) if name else "lit" if "lit" in part["properties"] else "sp"


def _of_kind(kind: str, tokens: list[str]) -> dict[str, Any]:
    """What holds for a profile of this kind only."""
    properties: dict[str, Any] = {}
    for key in keys_of_other_kinds(kind):
        outer, _, inner = key.partition(".")
        if inner:
            table = properties.setdefault(outer, {"properties": {}})
            table["properties"][inner] = False
        else:
            properties[outer] = False
    if tokens:
        one: list[dict[str, Any]] = [{"$ref": f"#/$defs/{token}"} for token in tokens]
        properties["layout"] = {"minItems": 1, "items": {"oneOf": one}}
    needed = {TEXT: ["layout"], BCD: ["layout", "bcd", "frame"], MODBUS: ["modbus"]}[kind]
    return {
        "if": {"properties": {"kind": {"const": kind}}, "required": ["kind"]},
        "then": {"properties": properties, "required": needed},
    }


def _describe(part: dict[str, Any], words: dict[str, str]) -> None:
    """Puts the words of the reference behind each key of a part."""
    for key, schema in part["properties"].items():
        if key in words:
            schema["description"] = words[key]


def _words() -> dict[str, dict[str, str]]:
    """Tables and tokens (`link`, `text number`, `bcd digits`) to their keys' words."""
    found: dict[str, dict[str, str]] = {}
    kind = ""
    for part in re.split(r"^##", reference(), flags=re.MULTILINE)[1:]:
        heading, _, text = part.partition("\n")
        if heading.startswith("#"):
            name = f"{kind} {heading[1:].strip()}"
        else:
            name = "".join(re.findall(r"\[+(\w+)\]", heading)[:1]) or heading.strip()
            kind = heading.split()[-1] if name == "layout" else kind
        items = re.findall(r"^- `(\w+)` \(([^)]*)\):((?:.|\n(?!- |\n))*)", text, re.MULTILINE)
        found[name] = {key: f"{' '.join(said.split())} ({given})" for key, given, said in items}
    return found
