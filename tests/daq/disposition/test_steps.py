"""The sizes that a group can serve at: worked cases with the limits of published manuals; see
test_next_step.py for the plans.
"""

import msgspec
import pytest

from daq.disposition.case import Measured, measured
from daq.disposition.next_step import dispose
from daq.disposition.steps import SizeAnswer, sizes_of
from daq.plan.plan import Plan, parse_plan
from tests.daq.disposition.groups import (
    GOOD,
    GROUND,
    GUARD,
    OUT,
    OVAL,
    UNSAID,
    WORN,
    WORN_OUT,
    four,
    result,
    rods,
)


def answers(
    plan: Plan,
    *readings: tuple[str, ...],
    unit: str = "in",
    guard: str = "",
    is_proven: bool = True,
) -> dict[str, SizeAnswer]:
    """Those of the first group by their undersize, one row of readings for each journal."""
    pairs = [
        (journal, measured(result(journal, *row, unit=unit, guard=guard)))
        for journal, row in zip(plan.journals, readings, strict=True)
    ]
    step = dispose(plan.groups[0], pairs)
    found = sizes_of(plan.groups[0], pairs, step, is_proven=is_proven)
    assert [each.undersize for each in found] == [
        "",
        *(step.name for step in plan.groups[0].undersizes),
    ]
    return {each.undersize: each for each in found}


def words(found: dict[str, SizeAnswer]) -> list[str]:
    return [each.cleans_up for each in found.values()]


def chosen(found: dict[str, SizeAnswer]) -> list[str]:
    return [each.undersize for each in found.values() if each.chosen]


def test_a_good_rod_serves_at_its_size_and_would_clean_up_at_every_undersize() -> None:
    found = answers(rods("R1"), GOOD)
    assert words(found) == ["yes"] * 5
    assert chosen(found) == [""]
    present, tenth = found[""], found[".010"]
    assert (present.by_mm, present.decided_by_journal) == ("0", "R1")
    # 2.748 x 25.4 = 69.7992, 2.749 x 25.4 = 69.8246; (2.7484 - 2.748) x 25.4 = 0.01016
    assert (present.low_limit_mm, present.high_limit_mm) == ("69.7992", "69.8246")
    assert present.metal_left_mm == "0.01016"
    # .010 x 25.4 = 0.254; 2.739 x 25.4 = 69.5706; (2.7484 - 2.739) x 25.4 = 0.23876
    assert (tenth.by_mm, tenth.high_limit_mm, tenth.metal_left_mm) == (
        "0.254",
        "69.5706",
        "0.23876",
    )


def test_one_worn_out_is_too_small_for_bearings_alone_and_cleans_up_beyond() -> None:
    found = answers(rods("R1"), WORN_OUT)
    # 2.7453 is under 2.746, the least journal of the .002 bearings, by 0.0007 x 25.4 = 0.01778
    assert words(found) == ["no", "no", "yes", "yes", "yes"]
    assert found[".002"].metal_left_mm == "-0.01778"
    assert found[".002"].high_limit_mm == ""
    assert chosen(found) == [".010"]


def test_bearings_alone_are_chosen_where_they_fit() -> None:
    found = answers(rods("R1"), WORN)
    assert words(found) == ["no", "yes", "yes", "yes", "yes"]
    assert chosen(found) == [".002"]


def test_a_group_is_as_small_as_its_smallest_journal() -> None:
    found = answers(rods("R1", "R2"), GOOD, WORN_OUT)
    assert {each.decided_by_journal for each in found.values()} == {"R2"}
    assert chosen(found) == [".010"]


def test_out_of_form_alone_decides_at_the_present_size() -> None:
    found = answers(rods("R1", "R2"), GOOD, OVAL)
    assert (found[""].cleans_up, found[""].decided_by_journal) == ("no", "R2")
    # 2.7483 - 2.748 = 0.0003 in = 0.00762 mm are left all the same
    assert found[""].metal_left_mm == "0.00762"
    assert found[".010"].cleans_up == "yes"


def test_one_ground_before_is_at_its_present_size_and_cannot_be_ground_to_it_again() -> None:
    found = answers(rods("R1", present=".010"), GROUND)
    assert (found[""].by_mm, found[""].cleans_up) == ("0.254", "yes")
    # 2.7381 is under the .010 high limit of 2.739 by 0.0009 in = 0.02286 mm
    assert (found[".010"].cleans_up, found[".010"].metal_left_mm) == ("no", "-0.02286")
    assert chosen(found) == [""]


def test_one_that_agrees_with_an_undersize_ground_before_serves_with_its_bearings() -> None:
    found = answers(parse_plan(UNSAID, "x"), ("2.7398", "2.7396", "2.7397", "2.7395"))
    # not ground again: 2.7395 against 2.7386, the worn limit: 0.0009 in = 0.02286 mm
    assert (found[".010"].cleans_up, found[".010"].metal_left_mm) == ("yes", "0.02286")
    assert chosen(found) == [".010"]


def test_too_near_to_call_is_undecided() -> None:
    # smallest 59.760 over the high limit 59.758 by 0.002, less than the guard of 0.00254
    near = ("59.770", "59.765", "59.762", "59.760")
    found = answers(four("0.05", "0.25"), near, unit="mm", guard=GUARD)
    assert found["0.25"].cleans_up == "undecided"
    assert found["0.05"].cleans_up == "no"
    assert chosen(found) == ["0.25"], "the grinder's step needs no guard, and its remarks say so"


def test_the_clean_up_allowance_is_asked_for_and_not_taken_off_the_metal_left() -> None:
    plan = four("0.03", "0.05", extra='clean_up = "0.010 mm"')
    found = answers(plan, ("59.991", "59.985", "59.987", "59.986"), unit="mm")
    # over 59.978 by 0.007 < 0.010; over 59.958 by 0.027
    assert [(each.cleans_up, each.metal_left_mm) for each in found.values()] == [
        ("no", "-0.007"),
        ("no", "0.007"),
        ("yes", "0.027"),
    ]
    assert chosen(found) == ["0.05"]


def test_not_measured_in_full_only_a_no_is_an_answer() -> None:
    found = answers(rods("R1", "R2"), WORN_OUT, ())
    assert words(found) == ["no", "no", "not-assessed", "not-assessed", "not-assessed"]


def test_nothing_measured_is_not_assessed_and_has_no_numbers() -> None:
    found = answers(rods("R1"), ())
    assert words(found) == ["not-assessed"] * 5
    assert {each.metal_left_mm for each in found.values()} == {""}
    assert found[".010"].high_limit_mm == "69.5706"


@pytest.mark.parametrize("is_proven", [True, False])
def test_readings_that_are_not_proven_assess_nothing(is_proven: bool) -> None:
    found = answers(four("0.25"), OUT, unit="mm", is_proven=is_proven)
    assert words(found) == (["no", "yes"] if is_proven else ["not-assessed"] * 2)


def test_a_journal_over_its_high_limit_puts_every_size_in_doubt() -> None:
    found = answers(rods("R1"), ("2.7495", "2.7494", "2.7494", "2.7493"))
    assert words(found) == ["not-assessed"] * 5
    assert chosen(found) == []


def test_without_a_kept_step_nothing_is_chosen() -> None:
    plan = rods("R1")
    pair = (plan.journals[0], measured(result(plan.journals[0], *WORN)))
    found = sizes_of(plan.groups[0], [pair], None, is_proven=True)
    assert [each.chosen for each in found] == [False] * 5
    nameless = msgspec.structs.replace(pair[1], journal="another")
    assert isinstance(nameless, Measured)
    again = sizes_of(plan.groups[0], [(pair[0], nameless)], None, is_proven=True)
    assert again == found, "names are the plan's"
