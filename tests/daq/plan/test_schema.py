"""The plan file's JSON Schema: the same keys as the documentation, and nothing beside them."""

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest

from daq.plan.plan import json_schema

JOURNAL_KEYS = {
    *("low", "high", "out_of_round", "taper", "taper_per", "form_limit", "access", "kind"),
    *("stations", "station_at", "angles_deg", "repeats", "window"),
}
KEYS = {
    "": {
        *("schema", "part", "check", "temperature", "decision", "study"),
        *("group", "defaults", "journal"),
    },
    "check": {
        *(
            "stack",
            "readings",
            "max_error",
            "max_spread",
            "max_drift",
            "max_age_min",
            "near",
            "least_interval",
            "power_loss_may_lose_zero",
        ),
    },
    "temperature": {
        *("part_material", "part_expansion", "part_expansion_limit"),
        *("gauge_expansion", "gauge_expansion_limit", "stack_expansion", "stack_expansion_limit"),
        *("thermometer_limit", "room_limit", "difference_limit"),
    },
    "decision": {"rule", "confidence", "state", "coverage"},
    "study": {"operators", "trials", "order_seed"},
    "group": {
        *("name", "stack", "undersize", "greatest_undersize", "present_undersize", "clean_up"),
        *("housing_bore", "shell_wall", "oil_clearance"),
        *JOURNAL_KEYS,
    },
    "group.undersize": {"name", "by", "low", "high", "worn_low", "bearing_only"},
    "defaults": {*JOURNAL_KEYS, "group", "least_interval", "typed", "held"},
    "journal": {*JOURNAL_KEYS, "name", "names", "group"},
}
REQUIRED = {
    "": {"schema", "part", "journal"},
    "check": set(),
    "temperature": set(),
    "decision": set(),
    "study": {"operators"},
    "group": {"name"},
    "group.undersize": {"name", "by", "low"},
    "defaults": set(),
    "journal": set(),  # name or names, and low may stand in the group or the defaults
}


def resolved(node: Any) -> Any:
    """The node itself or what its $ref points at."""
    while "$ref" in node:
        found: Any = json_schema()
        for step in node["$ref"].removeprefix("#/").split("/"):
            found = found[step]
        node = found
    return node


def table(name: str) -> Any:
    """The schema of one table of the plan, `group.undersize` being one in another; the empty name
    is the whole file.
    """
    node = resolved({"$ref": json_schema()["$ref"]})
    for step in name.split(".") if name else ():
        node = resolved(node)["properties"][step]
        (node,) = [one for one in node.get("anyOf", [node]) if one.get("type") != "null"]
        node = resolved(node)
        node = resolved(node.get("items", node))
    return node


def nodes(node: Any) -> Iterator[dict[str, Any]]:
    if isinstance(node, dict):
        yield node
    for child in node.values() if isinstance(node, dict) else node:
        if isinstance(child, dict | list):
            yield from nodes(child)


@pytest.mark.parametrize("name", KEYS)
def test_the_schema_has_the_documented_keys_and_refuses_others(name: str) -> None:
    found = table(name)
    assert found["type"] == "object"
    assert set(found["properties"]) == KEYS[name]
    assert set(found.get("required", ())) == REQUIRED[name]
    assert found["additionalProperties"] is False


def test_every_object_in_the_schema_refuses_unknown_keys() -> None:
    objects = [node for node in nodes(json_schema()) if node.get("type") == "object"]
    assert len(objects) == len(KEYS)
    assert all(node["additionalProperties"] is False for node in objects)


def test_the_schema_says_its_draft_and_is_plain_json() -> None:
    schema = json_schema()
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert json.loads(json.dumps(schema)) == schema


def test_every_reference_leads_somewhere_and_every_type_is_one_of_json() -> None:
    types = {"object", "array", "string", "integer", "number", "boolean", "null"}
    for node in nodes(json_schema()):
        if isinstance(node.get("$ref"), str):
            assert resolved(node)
        if isinstance(node.get("type"), str):
            assert node["type"] in types
        if "minimum" in node and "maximum" in node:
            assert node["minimum"] < node["maximum"]


def lengths_of(name: str, key: str) -> str:
    node = resolved(table(name)["properties"][key])
    texts = [node, *node.get("anyOf", ())]
    (pattern,) = {text["pattern"] for text in texts if text.get("type") == "string"}
    assert isinstance(pattern, str)
    return pattern


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("journal", "low"),
        ("check", "max_error"),
        ("defaults", "window"),
        ("group.undersize", "by"),
        ("group", "clean_up"),
    ],
)
def test_the_pattern_of_a_length_takes_the_documented_forms(name: str, key: str) -> None:
    # \d is ASCII in JSON Schema's regular expressions
    pattern = re.compile(lengths_of(name, key), re.ASCII)
    for good in ("59.97 mm", "2.3610 in", "5 um", " 1mm "):
        assert pattern.search(good)
    for bad in ("59.97", "nan mm", "1e5 mm", "1_0 mm", "59.97 mm x", "\u0661 mm"):
        assert not pattern.search(bad)


def test_the_bounds_are_the_documented_ones() -> None:
    angles = table("defaults")["properties"]["angles_deg"]["items"]
    assert (angles["type"], angles["minimum"], angles["maximum"]) == ("integer", 0, 179)
    name = table("group")["properties"]["name"]
    assert (name["minLength"], name["maxLength"]) == (1, 80)
    pattern = re.compile(name["pattern"])
    assert pattern.search("M1")
    assert not any(pattern.search(bad) for bad in ("a/b", "a\nb", "\x7f"))
    assert table("")["properties"]["schema"] == {"enum": [1]}
    assert table("")["properties"]["journal"]["minItems"] == 1
    assert set(table("defaults")["properties"]["access"]["enum"]) == {"open", "after-strip"}
    (kinds,) = [one for one in table("journal")["properties"]["kind"]["anyOf"] if "enum" in one]
    assert set(kinds["enum"]) == {"main", "rod", "other"}


def test_a_journal_has_a_name_or_several_and_every_journal_key_says_what_it_is() -> None:
    journal = table("journal")
    assert journal["oneOf"] == [{"required": ["name"]}, {"required": ["names"]}]
    for key in JOURNAL_KEYS | {"names", "group"}:
        node = journal["properties"][key]
        said = [one.get("description") for one in (node, *node["anyOf"])]
        said += [one["items"].get("description") for one in node["anyOf"] if "items" in one]
        assert any(said), key


@pytest.mark.parametrize("name", [name for name in KEYS if name])
def test_a_table_is_described_in_one_line(name: str) -> None:
    assert "\n" not in table(name)["description"]


def test_the_defaults_alone_say_how_readings_are_taken() -> None:
    defaults = table("defaults")["properties"]
    assert (set(defaults["typed"]["enum"]), defaults["typed"]["default"]) == (
        {"once", "twice"},
        "once",
    )
    assert (set(defaults["held"]["enum"]), defaults["held"]["default"]) == (
        {"ask", "press-again"},
        "ask",
    )
