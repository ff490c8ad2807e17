"""To which undersize a group is ground, each condition by itself; more is in test_next_step."""

import msgspec
import pytest

from daq.disposition.case import measured
from daq.disposition.next_step import dispose
from daq.plan.plan import parse_plan
from tests.daq.disposition.groups import GUARD, OVAL, WORN_OUT, disposed, result, rods

INSERTS = """\
schema = 1
part = "p"
[defaults]
angles_deg = [0, 90]
[[group]]
name = "g"
[[group.undersize]]
name = ".002"
by = "0.002 in"
low = "2.497 in"
high = "2.498 in"
bearing_only = true
[[group.undersize]]
name = ".010"
by = "0.010 in"
low = "2.489 in"
high = "2.490 in"
[[journal]]
name = "J"
group = "g"
low = "2.499 in"
high = "2.500 in"
out_of_round = "0.0005 in"
"""
"""Source: US Army TM 5-4320-300-14, p. 6-103: rod .002 is 2.497-2.498, for slight wear only."""


def test_nobody_grinds_to_an_undersize_that_is_of_bearings_only() -> None:
    # Out of round by .0006; its smallest, 2.4990, is over the printed high limit of .002.
    found = disposed(parse_plan(INSERTS, "x"), ("2.4996", "2.4990", "2.4996", "2.4990"))
    assert (found.step, found.undersize) == ("grind", ".010")


def test_where_bearings_are_all_that_the_plan_has_nothing_can_be_ground_to() -> None:
    before, rest = INSERTS.split('[[group.undersize]]\nname = ".010"')
    plan = parse_plan(before + rest[rest.index("[[journal]]") :], "x")
    found = disposed(plan, ("2.4996", "2.4990", "2.4996", "2.4990"))
    assert found.step == "not-assessed"
    assert found.reason.endswith("but the plan has no undersize that it could be ground to")


def test_the_reason_names_the_undersize_its_limit_and_the_reading() -> None:
    # 2.7483 x 25.4 = 69.80682
    assert disposed(rods("R1"), OVAL).reason == (
        "out of form: R1. One to be ground means all of the group. .010 is the smallest undersize "
        "whose high limit, 2.739 in, is not over the smallest reading, 2.7483 in (69.80682 mm)"
    )


def test_a_part_ground_before_is_never_ground_to_the_same_undersize_again() -> None:
    # Every reading at or over 2.739, the high limit of the .010 that it has; too near to be over it
    # for certain (guard 0.001 in = 0.0254 mm), but out of round by .0007.
    readings = ("2.7397", "2.7390", "2.7397", "2.7390")
    found = disposed(rods("R1", present=".010"), readings, guard="0.0254")
    assert (found.step, found.undersize) == ("grind", ".020")


def test_the_worst_known_journal_says_whether_there_is_metal_enough() -> None:
    plan = rods("R1", "R2")
    # 2.73905 lies .00005 in = 0.00127 mm over the high limit of .010, 2.739: less than 0.00254.
    poor = result(plan.journals[0], "2.7400", "2.73905", "2.74", "2.74", guard=GUARD)
    good = msgspec.structs.replace(
        result(plan.journals[1], "2.7400", "2.7395", "2.74", "2.74", guard=GUARD),
        uncertainty_mm="0.00001",
    )
    pairs = list(zip(plan.journals, map(measured, (poor, good)), strict=True))
    found = dispose(plan.groups[0], pairs)
    assert (found.step, found.undersize) == ("grind", ".010")
    assert "less than the uncertainty of 0.00254 mm" in found.remarks


def test_clean_up_is_spoken_of_only_where_the_plan_asks_for_it() -> None:
    assert "clean-up" not in disposed(rods("R1"), WORN_OUT).reason
    assert "clean-up" in disposed(rods("R1", first='clean_up = "0.001 in"'), WORN_OUT).reason


@pytest.mark.parametrize(
    ("smallest", "is_said"),
    # 2.749 - 0.060 = 2.689: a part smaller than that is beyond the greatest undersize, too.
    [("2.6890", True), ("2.68899", False)],
)
def test_an_undersize_that_could_be_had_is_named_only_where_it_would_help(
    smallest: str, is_said: bool
) -> None:
    plan = rods("R1", first='greatest_undersize = "0.060 in"')
    found = disposed(plan, ("2.7200", smallest, "2.7195", "2.7195"))
    assert found.step == "shelf"
    assert ("greatest_undersize" in found.remarks) is is_said
