"""The route of a plan as boxes to fill in."""

from daq.plan.plan import Plan, parse_plan
from daq.plan.scope import make_scope
from daq.plan.worksheet import journals_in, stints_of
from daq.services.examples import example

STUDY = """\
schema = 1
part = "study"
[check]
stack = "59.97 mm"
[study]
operators = ["A", "B"]
trials = 2
[defaults]
low = "59.97 mm"
high = "59.99 mm"
angles_deg = [0, 90]
[[journal]]
names = ["M1", "M2"]
"""
STRIPPED = """\
schema = 1
part = "x"
[defaults]
low = "59.97 mm"
high = "59.99 mm"
[[journal]]
name = "M1"
access = "after-strip"
[[journal]]
name = "M2"
"""


def boxes(plan: Plan) -> list[tuple[int, str]]:
    return [
        (box.number, str(box.position))
        for stint in stints_of(plan, {})
        for block in stint.blocks
        for box in block.boxes
    ]


def test_the_boxes_are_the_route_in_its_order() -> None:
    for text in (example("v6-shared-pins").text, STUDY):
        plan = parse_plan(text, "plan.toml")
        route = make_scope(plan, (), None, {}).route
        assert boxes(plan) == [(number, str(at)) for number, at in enumerate(route, 1)]


def test_each_stack_is_a_stint_and_what_is_stripped_comes_last() -> None:
    stints = stints_of(parse_plan(example("v6-shared-pins").text, "plan.toml"), {})
    assert [stint.stack for stint in stints] == ["71.980 mm", "57.975 mm", "71.980 mm"]
    assert [block.is_after_strip for stint in stints for block in stint.blocks] == (
        [False] * 5 + [True] * 2
    )


def test_stripping_alone_begins_no_stint() -> None:
    plan = parse_plan(STRIPPED, "plan.toml")
    (stint,) = stints_of(plan, {})
    assert (stint.stack, stint.size) == ("", None)
    assert [block.is_after_strip for block in stint.blocks] == [False, True]
    assert [journal.name for journal in journals_in(plan, stint)] == ["M1", "M2"]


def test_a_saved_stack_has_the_size_that_it_has() -> None:
    plan = parse_plan(STUDY.replace("59.97 mm", "mains", 1), "plan.toml")
    (stint,) = stints_of(plan, {"mains": "59.9701 mm"})
    assert (stint.stack, str(stint.size)) == ("mains", "59.9701 mm")


def test_a_study_goes_by_turns() -> None:
    (stint,) = stints_of(parse_plan(STUDY, "plan.toml"), {})
    assert [(block.turn, len(block.boxes)) for block in stint.blocks] == [
        ("operator A, trial 1", 8),
        ("operator B, trial 1", 8),
        ("operator A, trial 2", 8),
        ("operator B, trial 2", 8),
    ]
