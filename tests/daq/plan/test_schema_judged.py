"""The plan file's JSON Schema against an independent validator, and both against our own reader.

Oracle: the reference implementation of JSON Schema draft 2020-12 in Python (package jsonschema).
"""

import copy
import tomllib
from collections.abc import Callable
from importlib.resources import files
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from daq.errors import PlanError
from daq.plan.plan import json_schema, parse_plan

TEXT = files("daq.cli").joinpath("demo_plan.toml").read_text(encoding="utf-8")
SCHEMA = json_schema()


def faults(plan: dict[str, Any]) -> list[str]:
    return [error.message for error in Draft202012Validator(SCHEMA).iter_errors(plan)]


def test_the_schema_is_a_schema() -> None:
    Draft202012Validator.check_schema(SCHEMA)


def test_a_good_plan_is_good_to_both() -> None:
    assert faults(tomllib.loads(TEXT)) == []
    assert parse_plan(TEXT, "demo").journals


Change = Callable[[dict[str, Any]], object]


@pytest.mark.parametrize(
    ("change", "old", "new"),
    [
        (lambda plan: plan.update(schema=2), "schema = 1", "schema = 2"),
        (lambda plan: plan.update(colour=3), "schema = 1", "schema = 1\ncolour = 3"),
        (lambda plan: plan.pop("part"), 'part = "Mar', '# part = "Mar'),
        (lambda plan: plan["check"].update(readings=0), "readings = 5", "readings = 0"),
        (lambda plan: plan["check"].update(readings=True), "readings = 5", "readings = true"),
        (lambda plan: plan["defaults"].update(angles_deg=[180]), "[0, 45, 90, 135]", "[180]"),
        (lambda plan: plan["defaults"].update(angles_deg=[]), "[0, 45, 90, 135]", "[]"),
        (lambda plan: plan["journal"][0].update(high="59.990"), '"59.990 mm"', '"59.990"'),
        (lambda plan: plan["journal"][0].update(name="M/1"), 'name = "M1"', 'name = "M/1"'),
        (lambda plan: plan["journal"][0].update(low=["1 mm"]), ', "2.3610 in"]', "]"),
        (
            lambda plan: plan.update(decision={"coverage": 2}),
            "[check]",
            "[decision]\ncoverage = 2\n[check]",
        ),
        (
            lambda plan: plan.update(study={"operators": ["A"]}),
            "[check]",
            '[study]\noperators = ["A"]\n[check]',
        ),
        (
            lambda plan: plan["group"][0].update(shell_wall=["2 mm"]),
            'shell_wall = ["1.990 mm", "1.995 mm"]',
            'shell_wall = ["2 mm"]',
        ),
        (
            lambda plan: plan["group"][0]["undersize"][0].pop("low"),
            'low = "59.720 mm"\n',
            "",
        ),
        (
            lambda plan: plan["defaults"].update(form_limit="exceeds"),
            "[defaults]",
            '[defaults]\nform_limit = "exceeds"',
        ),
    ],
)
def test_what_the_schema_refuses_our_reader_refuses(change: Change, old: str, new: str) -> None:
    plan = copy.deepcopy(tomllib.loads(TEXT))
    change(plan)
    assert faults(plan)
    assert old in TEXT
    with pytest.raises(PlanError):
        parse_plan(TEXT.replace(old, new, 1), "demo")


ALIKE = """\
schema = 1
part = "p"
[defaults]
low = "59.97 mm"
high = "59.99 mm"
typed = "twice"
held = "press-again"
[[group]]
name = "mains"
out_of_round = "0.005 mm"
access = "after-strip"
[[journal]]
names = ["M1", "M2"]
group = "mains"
"""


def test_keys_of_a_group_and_of_the_defaults_are_good_to_both() -> None:
    assert faults(tomllib.loads(ALIKE)) == []
    assert len(parse_plan(ALIKE, "x").journals) == 2


@pytest.mark.parametrize(
    "names",
    [
        'name = "M1"\nnames = ["M2"]',
        "",
        "names = []",
        'names = ["M1", "M1"]',
        'names = "M1"',
        'name = ["M1", "M2"]',
    ],
)
def test_names_that_the_schema_refuses_our_reader_refuses(names: str) -> None:
    text = ALIKE.replace('names = ["M1", "M2"]', names)
    assert faults(tomllib.loads(text))
    with pytest.raises(PlanError):
        parse_plan(text, "x")
