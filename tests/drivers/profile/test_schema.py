"""The JSON Schema of profiles, by a validator that knows nothing of this program: `jsonschema`."""

import tomllib
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from drivers.profile.profile import SHIPPED
from drivers.profile.schema import json_schema, reference
from tests.drivers.profile.test_file_refused import IN_TABLES
from tests.drivers.profile.texts import BCD, GOOD, MODBUS, TOP

SCHEMA = json_schema()
VALIDATOR = Draft202012Validator(SCHEMA)


def fits(text: str) -> bool:
    return not list(VALIDATOR.iter_errors(tomllib.loads(text)))


def test_it_is_a_schema_itself() -> None:
    Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("path", sorted(SHIPPED.glob("*.toml")), ids=lambda path: path.stem)
def test_every_shipped_profile_fits(path: Any) -> None:
    assert fits(path.read_text(encoding="utf-8"))


def test_the_example_of_the_reference_fits() -> None:
    assert fits(reference().split("```toml\n")[1].split("```")[0])


@pytest.mark.parametrize("text", [GOOD, BCD, MODBUS])
def test_a_good_profile_of_each_kind_fits(text: str) -> None:
    assert fits(text)


@pytest.mark.parametrize(
    "text",
    [
        GOOD.replace("schema = 1", "schema = 2"),
        GOOD.replace("schema = 1\n", ""),
        GOOD.replace('id = "t"\n', ""),
        GOOD + "extra = 1\n",
        GOOD + "[link]\nbauds = 9600\n",
        GOOD + '[link]\nbaud = "9600"\n',
        GOOD + '[link]\nparity = "X"\n',
        GOOD + '[[layout]]\nname = "colour"\n',
        GOOD + "[[layout]]\nlit = 1\n",
        GOOD + '[bcd]\norder = "high-first"\n',
        TOP,  # no layout
        MODBUS + '[[layout]]\nlit = "x"\n',
        MODBUS.replace("function = 4", "function = 5"),
        BCD.replace('order = "low-first"', 'order = "up"'),
    ],
)
def test_a_wrong_shape_does_not_fit(text: str) -> None:
    assert not fits(text)


def test_what_the_schema_refuses_the_program_refuses() -> None:
    """The other way round is not so: a schema knows shapes, not what goes with what."""
    refused = [name for name, (text, *_) in IN_TABLES.items() if _is_toml(text) and not fits(text)]
    assert len(refused) > 20  # every one of IN_TABLES is refused by the program


def _is_toml(text: str) -> bool:
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return False
    return True


def test_every_key_is_told_in_words() -> None:
    tables = {"link", "trigger", "frame", "bcd", "modbus", "check", "sentinel", "value", "repeat"}
    silent = [
        (name, key)
        for name, part in [("file", SCHEMA), *SCHEMA["$defs"].items()]
        for key, schema in part["properties"].items()
        if "description" not in schema and key not in tables | {"layout", "conditions", "name"}
    ]
    assert silent == []


def test_no_key_may_be_null_since_toml_has_none() -> None:
    assert "null" not in str(SCHEMA)
