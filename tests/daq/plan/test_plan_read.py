"""A recorded plan is read by its shape alone: the record of a checked one, whatever the rules."""

from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.errors import PlanError
from daq.plan.plan import Plan, parse_plan, read_plan
from daq.plan.scope import make_scope
from tests.builders import ONE, PLAN
from tests.daq.plan.refused_plans import BY_RULE, BY_SHAPE, GROUND, PUMP, Refusal
from tests.daq.plan.test_plan import EXAMPLE, SHORTEST

DEMO = files("daq.cli").joinpath("demo_plan.toml").read_text(encoding="utf-8")
STUDY = '\n[study]\noperators = ["A", "B"]\ntrials = 2\norder_seed = 7\n'
UNDERSIZE = GROUND.replace("clean_up", 'present_undersize = "first"\nclean_up')
WRITTEN = {
    "example": EXAMPLE,
    "shortest": SHORTEST,
    "pump": PUMP,
    "ground": GROUND,
    "ground to an undersize": UNDERSIZE,
    "a study": GROUND + STUDY,
    "a material": GROUND.replace('part_expansion = "11.5e-6 /K"', 'part_material = "steel-4140"'),
    "two stacks": PLAN,
    "one journal": ONE,
    "demo": DEMO,
}


@pytest.mark.parametrize("text", WRITTEN.values(), ids=WRITTEN)
def test_a_plan_that_is_right_reads_as_the_checked_one(text: str) -> None:
    found = read_plan(text, "x")
    assert found == parse_plan(text, "x")
    assert found.unknown == ()


def parsed(text: str) -> Plan | None:
    try:
        return parse_plan(text, "x")
    except PlanError:
        return None


VALUES = st.sampled_from(
    [
        *("1", "2", "0", "0.9", "1.5", "true", "false", '""', '"1 mm"', '"0.04 in"', '"60.00 mm"'),
        *('"59.97 mm"', '["59.98 mm", "2.361 in"]', '["1 mm", "2 mm"]', '["a", "b"]', "[0, 90]"),
        *('"1 K"', '"2 °F"', '"1e-6 /K"', '"first"', '"mains"', '"under"', '"simple"', '"x"'),
    ]
)


@pytest.mark.parametrize("plan", [PUMP, GROUND, DEMO], ids=["pump", "ground", "demo"])
@given(st.data(), VALUES)
def test_whatever_is_accepted_reads_as_the_checked_one(
    plan: str, data: st.DataObject, value: str
) -> None:
    lines = [line for line in plan.splitlines() if "=" in line]
    line = data.draw(st.sampled_from(lines))
    text = plan.replace(line, f"{line.partition(' =')[0]} = {value}", 1)
    accepted = parsed(text)
    if accepted is not None:
        assert read_plan(text, "x") == accepted


@pytest.mark.parametrize("spoiled", BY_RULE, ids=[f"{one.key}-{one.reason}" for one in BY_RULE])
def test_what_a_rule_refuses_is_read_nevertheless(spoiled: Refusal) -> None:
    found = read_plan(spoiled.text, "x")
    assert found.text == spoiled.text
    assert bool(found.unknown) is spoiled.reason.startswith("unknown key")


@pytest.mark.parametrize("spoiled", BY_SHAPE, ids=[f"{one.key}-{one.reason}" for one in BY_SHAPE])
def test_what_is_no_plan_is_not_read(spoiled: Refusal) -> None:
    with pytest.raises(PlanError) as caught:
        read_plan(spoiled.text, "session (plan in the ledger)")
    assert (caught.value.file, caught.value.key) == ("session (plan in the ledger)", spoiled.key)


def test_what_is_not_toml_is_not_read() -> None:
    with pytest.raises(PlanError, match="the value is missing"):
        read_plan("schema = ", "x")


def test_limits_as_written_are_kept_though_their_cross_check_belies_them() -> None:
    # 59.97 mm is 2.36102... in
    found = read_plan(PUMP.replace('low = "59.97 mm"', 'low = ["59.97 mm", "2.3999 in"]'), "x")
    assert str(found.journals[0].limits.low) == "59.97 mm"


def test_keys_that_this_program_does_not_know_are_kept_by_name() -> None:
    text = PUMP.replace("[check]", 'colour = "red"\n[check]\nhumidity = 40') + "gloss = true\n"
    found = read_plan(text, "x")
    assert found.unknown == ("colour", "check.humidity", "journal[1].gloss")
    assert found.journals == parse_plan(PUMP, "x").journals


def test_no_run_begins_with_a_plan_that_is_not_known_whole() -> None:
    plan = read_plan(PUMP + "gloss = true\n", "session (plan in the ledger)")
    with pytest.raises(PlanError, match="does not know this key") as caught:
        make_scope(plan, (), None, {})
    assert caught.value.key == "journal[1].gloss"
