"""What is done next with a group of journals: worked cases with the limits of published manuals.

Limits and rules are those of the manual named beside each plan; the readings are worked cases of
our own ("derived"), with the arithmetic beside them where it is not plain subtraction. Readings are
four a journal: front 0 and 90 degrees, rear 0 and 90 degrees.
"""

from decimal import Decimal

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.disposition.case import Measured, measured
from daq.disposition.next_step import dispose
from daq.lengths import EXACT, to_mm
from daq.plan.plan import JournalPlan, Plan, parse_plan
from daq.plan.scope import planned
from daq.record.results import GroupResult, JournalResult
from tests.daq.disposition.groups import (
    BORE,
    CROSSED,
    GOOD,
    GROUND,
    GUARD,
    OUT,
    OVAL,
    TAPERED,
    UNSAID,
    WORN,
    WORN_OUT,
    disposed,
    four,
    result,
    rods,
)
from tests.estimate_builders import judged_simply, measured_exactly


@pytest.mark.parametrize(
    ("readings", "step", "undersize"),
    [
        (GOOD, "serve-as-is", ""),
        (CROSSED, "serve-as-is", ""),
        (OVAL, "grind", ".010"),
        (TAPERED, "grind", ".010"),
        (WORN, "bearing-undersize", ".002"),
        (WORN_OUT, "grind", ".010"),
    ],
)
def test_a_rod_by_the_manual(readings: tuple[str, ...], step: str, undersize: str) -> None:
    found = disposed(rods("R1"), readings)
    assert (found.step, found.undersize) == (step, undersize)
    assert found.forced_by == ("" if step == "serve-as-is" else "R1")
    finished = (found.finished_low_mm, found.finished_high_mm)
    # 2.738 x 25.4 = 69.5452; 2.739 x 25.4 = 69.5706
    assert finished == (("69.5452", "69.5706") if step == "grind" else ("", ""))


def test_a_rod_ground_before_serves_within_the_limits_of_its_undersize() -> None:
    found = disposed(rods("R1", present=".010"), GROUND)
    assert (found.step, found.undersize) == ("serve-as-is", ".010")
    assert "of the undersize .010" in found.reason
    assert found.bearing_growth_mm == "0.127"  # half of 0.010 in = 0.005 x 25.4


def test_a_rod_ground_before_that_must_be_ground_again_goes_beyond_its_undersize() -> None:
    # 2.739 > 2.7381, so .010 cannot be reached again; R2 is out of round by .0006 at .010
    found = disposed(
        rods("R1", "R2", present=".010"), GROUND, ("2.7389", "2.7383", "2.7388", "2.7384")
    )
    assert (found.step, found.undersize, found.forced_by) == ("grind", ".020", "R2")
    # 2.728 x 25.4 = 69.2912; 2.729 x 25.4 = 69.3166
    assert (found.finished_low_mm, found.finished_high_mm) == ("69.2912", "69.3166")


def test_a_rod_ground_before_whose_plan_does_not_say_so_needs_no_second_grinding() -> None:
    found = disposed(rods("R1"), GROUND)
    assert (found.step, found.undersize) == ("bearing-undersize", ".010")
    assert "write present_undersize" in found.remarks


def test_one_rod_to_be_ground_means_all() -> None:
    found = disposed(rods("R1", "R2"), GOOD, OVAL)
    assert (found.step, found.undersize, found.forced_by) == ("grind", ".010", "R2")
    assert "One to be ground means all" in found.reason
    assert "out of form: R2" in found.reason


def test_a_form_value_equal_to_a_limit_that_must_not_be_exceeded_is_not_ground() -> None:
    # out of round exactly .0005, exact in decimal; in binary 2.7485 - 2.748 > 0.0005
    assert disposed(rods("R1"), ("2.7485", "2.7480", "2.7485", "2.7480")).step == "serve-as-is"
    assert disposed(rods("R1"), ("2.7485", "2.7480", "2.7485", "2.74801")).step == "serve-as-is"
    assert disposed(rods("R1"), ("2.74851", "2.7480", "2.7485", "2.7480")).step == "grind"


def test_the_smallest_reading_decides_not_the_mean() -> None:
    # The mean is 2.73905, over the high limit of .010; the smallest, 2.7389, is under it.
    found = disposed(rods("R1", present=".010"), ("2.7392", "2.7389", "2.7391", "2.7390"))
    assert found.step == "not-assessed"  # over the high limit of .010 by its largest
    found = disposed(rods("R1"), ("2.7400", "2.7389", "2.7393", "2.7392"))
    # out of round .0011; .010 has 2.739 over 2.7389, so .020
    assert (found.step, found.undersize) == ("grind", ".020")


def test_the_reading_that_equals_the_high_limit_of_an_undersize_reaches_it() -> None:
    assert disposed(rods("R1"), ("2.7400", "2.7390", "2.74", "2.74")).undersize == ".010"
    assert disposed(rods("R1"), ("2.7400", "2.73899", "2.74", "2.74")).undersize == ".020"


def test_the_smallest_of_the_group_decides_for_all() -> None:
    found = disposed(rods("R1", "R2", "R3"), GOOD, ("2.7300", "2.7291", "2.7291", "2.7291"), GOOD)
    assert (found.step, found.undersize) == ("grind", ".020")  # 2.729 <= 2.7291 < 2.739
    assert "2.7291 in" in found.reason


def test_beyond_the_last_undersize_is_the_shelf() -> None:
    found = disposed(rods("R1"), ("2.7200", "2.7189", "2.7195", "2.7195"))  # 2.719 > 2.7189
    assert (found.step, found.undersize) == ("shelf", "")
    assert ".030, the last undersize" in found.reason
    assert "2.719 in" in found.reason


def test_greatest_undersize_that_leaves_room_is_said_with_the_shelf() -> None:
    # 2.749 - 0.060 = 2.689 <= 2.7189: bearings of .040 or .060 would do
    plan = rods("R1", first='greatest_undersize = "0.060 in"')
    found = disposed(plan, ("2.7200", "2.7189", "2.7195", "2.7195"))
    assert found.step == "shelf"
    assert "greatest_undersize = 0.060 in would allow one beyond .030" in found.remarks


def test_clean_up_asks_for_more_metal() -> None:
    # 2.7453 - 2.739 = .0063 to spare; an allowance of .0063 is met, .0064 is not
    assert disposed(rods("R1", first='clean_up = "0.0063 in"'), WORN_OUT).undersize == ".010"
    found = disposed(rods("R1", first='clean_up = "0.0064 in"'), WORN_OUT)
    assert found.undersize == ".020"
    assert "2.729 in with 0.0064 in of clean-up" in found.reason


# Metric


def test_a_metric_main_within_its_limits_serves() -> None:
    # out of round 0.005, the smallest 59.994 >= 59.992
    found = disposed(
        four("0.03", "0.05", "0.25"), ("60.001", "59.996", "59.999", "59.994"), unit="mm"
    )
    assert found.step == "serve-as-is"


def test_a_metric_main_is_ground_to_the_smallest_undersize_that_it_reaches() -> None:
    # 0.03 ends at 59.978 > 59.972; 0.05 at 59.958
    found = disposed(four("0.03", "0.05", "0.25"), OUT, unit="mm")
    assert (found.step, found.undersize) == ("grind", "0.05")
    assert (found.finished_low_mm, found.finished_high_mm) == ("59.942", "59.958")
    assert "the next undersize is 0.25" in found.remarks


def test_a_shop_that_offers_one_undersize_grinds_to_it_within_the_grinding_limit() -> None:
    found = disposed(four("0.25"), OUT, unit="mm")
    assert (found.step, found.undersize) == ("grind", "0.25")
    assert (found.finished_low_mm, found.finished_high_mm) == ("59.742", "59.758")
    assert "no undersize after 0.25" in found.remarks


def test_without_undersizes_the_grinding_limit_alone_decides_the_shelf() -> None:
    # 60.008 - 0.250 = 59.758
    found = disposed(four(), ("59.780", "59.757", "59.770", "59.760"), unit="mm")
    assert found.step == "shelf"
    assert "59.758 mm" in found.reason
    found = disposed(four(), ("59.780", "59.758", "59.770", "59.760"), unit="mm")
    assert found.step == "not-assessed"
    assert "no undersize" in found.reason


# Other manuals: which undersize a reading at and just under a high limit comes to


def plan_of(low: str, high: str, *steps: tuple[str, str, str], extra: str = "") -> Plan:
    """One journal in inches with out-of-round limited, and steps of (by, low, high)."""
    text = (
        f'schema = 1\npart = "p"\n[defaults]\nangles_deg = [0, 90]\n[[group]]\nname = "g"\n{extra}'
    )
    for by, step_low, step_high in steps:
        text += (
            f'[[group.undersize]]\nname = "{by}"\nby = "{by} in"\nlow = "{step_low} in"\n'
            f'high = "{step_high} in"\n'
        )
    return parse_plan(
        f'{text}[[journal]]\nname = "J"\ngroup = "g"\nlow = "{low} in"\nhigh = "{high} in"\n'
        'out_of_round = "0.0005 in"\n',
        "x",
    )


PUBLISHED = [
    # US Army TM 5-3805-262-34, p. 4-23, mains; standard 2.998-3.000
    (
        ("2.998", "3.000"),
        ("0.010", "2.988", "2.989"),
        ("0.020", "2.978", "2.979"),
        ("0.030", "2.968", "2.969"),
    ),
    # the same, p. 3-485, compressor
    (
        ("1.1230", "1.1235"),
        ("0.010", "1.1130", "1.1135"),
        ("0.020", "1.1030", "1.1035"),
        ("0.030", "1.0930", "1.0935"),
    ),
    # US Army TM 10-3930-638-24&P, p. 4-29, rods; standard derived: .010 band + .010
    (
        ("2.2480", "2.2490"),
        ("0.010", "2.2380", "2.2390"),
        ("0.020", "2.2280", "2.2290"),
        ("0.030", "2.2180", "2.2190"),
    ),
    # US Army TM 5-4320-300-14, p. 6-103, rods and mains
    (
        ("2.499", "2.500"),
        ("0.010", "2.489", "2.490"),
        ("0.020", "2.479", "2.480"),
        ("0.030", "2.469", "2.470"),
    ),
    (
        ("2.999", "3.000"),
        ("0.010", "2.989", "2.990"),
        ("0.020", "2.979", "2.980"),
        ("0.030", "2.969", "2.970"),
    ),
]


@pytest.mark.parametrize("table", PUBLISHED)
def test_published_undersizes_are_reached_down_to_their_high_limit(
    table: tuple[tuple[str, str], *tuple[tuple[str, str, str], ...]],
) -> None:
    (low, high), *steps = table
    plan = plan_of(low, high, *steps)
    for number, (by, step_low, step_high) in enumerate(steps):
        # Out of round, so that it has to be ground; the smallest at the high limit, or under it.
        at, over = Decimal(step_high), EXACT.add(Decimal(step_high), Decimal("0.004"))
        found = disposed(plan, (str(over), str(at), str(over), str(over)))
        assert (found.step, found.undersize) == ("grind", by)
        assert Decimal(found.finished_low_mm) == to_mm(Decimal(step_low), "in")
        under = EXACT.subtract(at, Decimal("0.00001"))
        found = disposed(plan, (str(over), str(under), str(over), str(over)))
        is_last = number == len(steps) - 1
        assert found.undersize == ("" if is_last else steps[number + 1][0])
        assert found.step == ("shelf" if is_last else "grind")


def test_each_undersize_may_wear_down_to_a_limit_of_its_own() -> None:
    # US Army TM 5-3805-260-24, rods: 2.7496 +- .0006, worn to 2.7486; .010 2.7396, worn to 2.7386
    text = (
        'schema = 1\npart = "p"\n[defaults]\nangles_deg = [0, 90]\n[[group]]\nname = "g"\n'
        'present_undersize = ".010"\n[[group.undersize]]\nname = ".010"\nby = "0.010 in"\n'
        'low = "2.7390 in"\nhigh = "2.7402 in"\nworn_low = "2.7386 in"\n[[journal]]\nname = "J"\n'
        'group = "g"\nlow = "2.7490 in"\nhigh = "2.7502 in"\n'
    )
    plan = parse_plan(text, "x")
    assert str(plan.journals[0].limits.low) == "2.7386 in"
    assert disposed(plan, ("2.7390", "2.7387", "2.7388", "2.7386")).step == "serve-as-is"
    assert disposed(plan, ("2.7390", "2.7387", "2.7388", "2.7385")).step == "shelf"


def test_undersize_inserts_for_slight_wear_without_regrinding() -> None:
    # US Army TM 5-4320-300-14, p. 6-103: rod .002 is 2.497-2.498, for slight wear only
    text = (
        'schema = 1\npart = "p"\n[defaults]\nangles_deg = [0, 90]\n[[group]]\nname = "g"\n'
        '[[group.undersize]]\nname = ".002"\nby = "0.002 in"\nlow = "2.497 in"\n'
        'high = "2.498 in"\nbearing_only = true\n[[group.undersize]]\nname = ".010"\n'
        'by = "0.010 in"\nlow = "2.489 in"\nhigh = "2.490 in"\n[[journal]]\nname = "J"\n'
        'group = "g"\nlow = "2.499 in"\nhigh = "2.500 in"\n'
    )
    plan = parse_plan(text, "x")
    for smallest, step, undersize in (
        ("2.4980", "bearing-undersize", ".002"),
        ("2.4970", "bearing-undersize", ".002"),
        ("2.4969", "grind", ".010"),
        ("2.4985", "bearing-undersize", ".002"),  # less worn than those, so not to be ground
    ):
        found = disposed(plan, ("2.4985", smallest, "2.4985", "2.4985"))
        assert (found.step, found.undersize) == (step, undersize), smallest
        # 2.4985 in = 63.4619 mm is over the printed high limit of that undersize
        told = "63.46190 mm, is over 2.498 in" in found.remarks
        assert told is (step == "bearing-undersize"), smallest


def test_a_bore_that_leaves_no_oil_clearance_is_told() -> None:
    text = (
        'schema = 1\npart = "p"\n[defaults]\nangles_deg = [0, 90]\n[[group]]\nname = "g"\n'
        'housing_bore = ["2.500 in", "2.501 in"]\nshell_wall = ["0.070 in", "0.071 in"]\n'
        '[[journal]]\nname = "J"\ngroup = "g"\nlow = "2.499 in"\nhigh = "2.500 in"\n'
    )
    found = disposed(parse_plan(text, "x"), ("2.4995", "2.4995", "2.4995", "2.4995"))
    assert "no oil clearance is left" in found.remarks


@pytest.mark.parametrize(
    ("smallest", "largest", "step", "undersize"),
    [
        ("2.7386", "2.7402", "bearing-undersize", ".010"),
        ("2.7385", "2.7402", "grind", ".020"),  # worn beyond the limit of .010
        ("2.7386", "2.7403", "grind", ".020"),  # over the finished limits of .010
    ],
)
def test_a_part_ground_before_is_known_by_all_of_its_readings(
    smallest: str, largest: str, step: str, undersize: str
) -> None:
    found = disposed(parse_plan(UNSAID, "x"), (largest, smallest, largest, smallest))
    assert (found.step, found.undersize) == (step, undersize)


# What the measurement does not settle


def test_what_was_not_measured_is_not_assessed() -> None:
    found = disposed(rods("R1", "R2"), GOOD, ())
    assert found.step == "not-assessed"
    assert found.reason == "not measured in full: R2"
    assert disposed(rods("R1", "R2"), GOOD, GOOD[:3]).step == "not-assessed"
    # bearings of .002 would do for R1, but R2 may be worse
    assert disposed(rods("R1", "R2"), WORN, ()).step == "not-assessed"


def test_a_group_that_must_be_ground_anyway_is_ground_and_says_what_was_not_measured() -> None:
    found = disposed(rods("R1", "R2"), OVAL, ())
    assert (found.step, found.undersize) == ("grind", ".010")
    assert "not measured in full: R2" in found.remarks


def test_a_journal_over_its_high_limit_is_not_assessed() -> None:
    found = disposed(rods("R1"), ("2.7492", "2.7491", "2.7490", "2.7490"))
    assert found.step == "not-assessed"
    assert "Wear cannot do that" in found.reason


def test_a_journal_too_near_its_limit_leaves_the_group_undecided() -> None:
    found = disposed(rods("R1", "R2"), GOOD, ("2.7483", "2.74805", "2.7482", "2.7482"), guard=GUARD)
    assert found.step == "undecided"
    assert "R2" in found.reason


def test_a_journal_too_near_the_limit_of_a_bearing_leaves_the_group_undecided() -> None:
    # .002 serves from 2.746; the guard reaches from 2.7459 to 2.7461
    for smallest, step in (
        ("2.7461", "bearing-undersize"),
        ("2.74609", "undecided"),
        ("2.7459", "undecided"),
        ("2.74589", "grind"),
    ):
        found = disposed(rods("R1"), ("2.7462", smallest, "2.7462", "2.7462"), guard=GUARD)
        assert found.step == step, smallest


def test_by_simple_acceptance_no_uncertainty_stands_between() -> None:
    plan = rods("R1")
    (journal,) = plan.journals
    found = result(journal, "2.7462", "2.7460", "2.7462", "2.7462")  # .002 serves from 2.746
    assert found.decision_rule == "simple"
    known = msgspec.structs.replace(found, uncertainty_mm=GUARD)
    assert dispose(plan.groups[0], [(journal, measured(known))]).step == "bearing-undersize"


def test_little_metal_over_an_undersize_is_said_with_the_uncertainty() -> None:
    found = disposed(rods("R1"), ("2.7400", "2.73905", "2.74", "2.74"), guard=GUARD)
    assert (found.step, found.undersize) == ("grind", ".010")
    assert "only 0.00127 mm over the high limit of .010" in found.remarks  # .00005 x 25.4


def test_journals_that_keep_standard_bearings_are_named() -> None:
    found = disposed(rods("R1", "R2"), GOOD, WORN)
    assert (found.step, found.undersize, found.forced_by) == ("bearing-undersize", ".002", "R2")
    assert "R1 within the present limits" in found.remarks


# Bearings: shell and clearance. Derived: bore - 2 x wall - by - journal


def test_a_shell_grows_by_half_the_undersize() -> None:
    found = disposed(four("0.25"), OUT, unit="mm")
    assert Decimal(found.bearing_growth_mm) == Decimal("0.125")  # on each of two walls


def test_the_clearance_after_grinding_is_that_of_the_finished_limits() -> None:
    found = disposed(four("0.25", extra=BORE), OUT, unit="mm")
    # 64.000 - 3.990 - 0.25 - 59.758 = 0.002; 64.019 - 3.980 - 0.25 - 59.742 = 0.047
    assert Decimal(found.clearance_smallest_mm) == Decimal("0.002")
    assert Decimal(found.clearance_largest_mm) == Decimal("0.047")
    assert "leaves 0.010 mm to 0.040 mm" in found.remarks


def test_the_clearance_as_it_serves_is_that_of_the_readings() -> None:
    found = disposed(four(extra=BORE), ("60.000", "59.995", "59.999", "59.994"), unit="mm")
    # 64.000 - 3.990 - 60.000 = 0.010; 64.019 - 3.980 - 59.994 = 0.045
    assert Decimal(found.clearance_smallest_mm) == Decimal("0.010")
    assert Decimal(found.clearance_largest_mm) == Decimal("0.045")


def test_without_bore_and_wall_there_is_no_clearance() -> None:
    found = disposed(four("0.25"), OUT, unit="mm")
    assert (found.clearance_smallest_mm, found.clearance_largest_mm) == ("", "")


# With the evaluation itself, so that both speak the same words


def evaluated(journal: JournalPlan, readings: tuple[str, ...]) -> Measured:
    """The same readings judged by the program, by simple acceptance."""
    taken = planned(journal)[: len(readings)]
    sizes = {at: to_mm(Decimal(text), "in") for at, text in zip(taken, readings, strict=True)}
    return measured_exactly(judged_simply(journal, sizes, "0.000254"))


@pytest.mark.parametrize(
    "rows",
    [
        *((row,) for row in (GOOD, CROSSED, OVAL, TAPERED, WORN, WORN_OUT, GROUND, GOOD[:3], ())),
        (GOOD, OVAL),
        (OVAL, ()),
        (("2.7485", "2.7480", "2.7485", "2.7480"),),
        (("2.7485", "2.7480", "2.7485", "2.74801"), WORN),
        (("2.7492", "2.7491", "2.7490", "2.7490"),),
        (("2.7200", "2.7189", "2.7195", "2.7195"), GOOD),
    ],
)
def test_the_evaluation_of_the_program_leads_to_the_same_step(
    rows: tuple[tuple[str, ...], ...],
) -> None:
    plan = rods(*(f"R{n}" for n in range(len(rows))))
    pairs = [
        (journal, evaluated(journal, row)) for journal, row in zip(plan.journals, rows, strict=True)
    ]
    found = dispose(plan.groups[0], pairs)
    by_hand = disposed(plan, *rows)
    assert (found.step, found.undersize, found.forced_by) == (
        by_hand.step,
        by_hand.undersize,
        by_hand.forced_by,
    )


# Each condition by itself


def pairs_of(plan: Plan, *results: JournalResult) -> list[tuple[JournalPlan, Measured]]:
    """The journals of a plan, each with its result."""
    return list(zip(plan.journals, map(measured, results), strict=True))


def test_one_out_of_form_sends_the_group_to_the_grinder_though_bearings_fit_the_other() -> None:
    found = disposed(rods("R1", "R2"), OVAL, WORN)  # bearings of .002 would do for R2
    assert (found.step, found.undersize, found.forced_by) == ("grind", ".010", "R1;R2")


def test_a_group_without_journals_is_not_assessed() -> None:
    found = dispose(rods("R1").groups[0], [])
    assert (found.step, found.reason) == (
        "not-assessed",
        "not measured in full: no journal at all",
    )


@pytest.mark.parametrize("form", ["undecided", "not-enough-positions"])
def test_form_that_is_not_settled_leaves_the_group_undecided(form: str) -> None:
    plan = rods("R1", "R2")
    first, second = (result(journal, *GOOD) for journal in plan.journals)
    open_one = msgspec.structs.replace(second, form_verdict=form)
    found = dispose(plan.groups[0], pairs_of(plan, first, open_one))
    assert found.step == "undecided"
    assert found.reason == (
        "the measurement does not settle size or form of R2, and the next step depends on it"
    )


def test_a_group_that_serves_says_where_two_angles_saw_no_form() -> None:
    plan = rods("R1")
    (journal,) = plan.journals
    seen = measured(result(journal, *GOOD))
    assert "was not seen" not in dispose(plan.groups[0], [(journal, seen)]).remarks
    unseen = msgspec.structs.replace(seen, form="not-seen")
    found = dispose(plan.groups[0], [(journal, unseen)])
    assert found.step == "serve-as-is"
    assert "out-of-round was not seen: two angles can miss all of it" in found.remarks


def test_a_group_that_serves_says_where_form_was_not_judged() -> None:
    said = "no limit on form in the plan, so form was not judged"
    plan = rods("R1", "R2")
    first, second = (result(journal, *GOOD) for journal in plan.journals)
    found = dispose(plan.groups[0], pairs_of(plan, first, second))
    assert found.reason == "by its readings every journal lies within its limits"
    assert said not in found.remarks
    formless = msgspec.structs.replace(second, form_verdict="no-limit")
    found = dispose(plan.groups[0], pairs_of(plan, first, formless))
    assert found.step == "serve-as-is"
    assert found.remarks.startswith(said)


def test_a_part_ground_before_can_wear_to_bearings_of_a_greater_undersize() -> None:
    # All four of 2.7285 lie in the finished limits of .020, 2.728 to 2.729, and under those of
    # .010 that the plan says it has.
    found = disposed(rods("R1", present=".010"), ("2.7285",) * 4)
    assert (found.step, found.undersize) == ("bearing-undersize", ".020")


def test_of_two_undersizes_too_near_to_call_the_lesser_is_named() -> None:
    # Guard 0.03 mm. 2.7465 is 0.0381 mm under 2.748, so too small; it is 0.0127 mm under the
    # 2.747 that .001 serves from and 0.0127 mm over the 2.746 of .002: both within the guard.
    lesser = (
        '[[group.undersize]]\nname = ".001"\nby = "0.001 in"\nlow = "2.747 in"\n'
        "bearing_only = true\n"
    )
    plan = rods("R1", first=lesser)
    found = disposed(plan, ("2.7465",) * 4, guard="0.03")
    assert found.step == "undecided"
    assert "too near the limits of the undersize .001 to say" in found.reason


def test_what_was_not_measured_goes_before_what_is_too_near_to_call() -> None:
    near = ("2.7462", "2.7460", "2.7462", "2.7462")  # .002 serves from 2.746
    assert disposed(rods("R1"), near, guard=GUARD).step == "undecided"
    found = disposed(rods("R1", "R2"), near, (), guard=GUARD)
    assert (found.step, found.reason) == ("not-assessed", "not measured in full: R2")


def test_the_largest_too_near_the_finished_limits_leaves_a_part_ground_before_undecided() -> None:
    # Finished limits 2.7390 to 2.7402, worn down to 2.7386; guard 0.0001 in.
    plan = parse_plan(UNSAID, "x")
    for largest, step in (
        ("2.7401", "bearing-undersize"),
        ("2.74011", "undecided"),
        ("2.7403", "undecided"),
        ("2.74031", "grind"),
    ):
        found = disposed(plan, (largest, "2.7390", "2.7390", "2.7390"), guard=GUARD)
        assert found.step == step, largest


def test_bearings_without_grinding_are_reasoned_from_the_readings_and_leave_an_oil_film() -> None:
    # Undersize 0.25 of the four: 59.742 to 59.758. In mm: 64.000 - 3.990 - 0.25 - 59.755 = 0.005;
    # 64.019 - 3.980 - 0.25 - 59.745 = 0.044.
    found = disposed(four("0.25", extra=BORE), ("59.755", "59.750", "59.748", "59.745"), unit="mm")
    assert (found.step, found.undersize) == ("bearing-undersize", "0.25")
    assert "The smallest reading, 59.745 mm, is not under 59.742 mm" in found.reason
    assert Decimal(found.clearance_smallest_mm) == Decimal("0.005")
    assert Decimal(found.clearance_largest_mm) == Decimal("0.044")


# What is never said


INCHES = st.decimals("2.715", "2.751", places=5).map(str)


@given(
    st.lists(
        st.one_of(st.just(()), st.tuples(INCHES, INCHES, INCHES, INCHES)), min_size=1, max_size=4
    ),
    st.sampled_from(["", ".010", ".020"]),
    st.sampled_from(["", GUARD]),
)
def test_every_group_gets_one_step_that_its_readings_bear_out_and_no_promise(
    rows: list[tuple[str, ...]], present: str, guard: str
) -> None:
    plan = rods(*(f"R{n}" for n in range(len(rows))), present=present)
    found = disposed(plan, *rows, guard=guard)
    words = " ".join(getattr(found, field) for field in GroupResult.__struct_fields__).lower()
    assert "safe" not in words
    assert "not examined: cracks, hardness, fillet radii, straightness" in found.remarks
    smallest = min((to_mm(Decimal(text), "in") for row in rows for text in row), default=None)
    if found.step == "grind":
        assert smallest is not None
        assert Decimal(found.finished_high_mm) <= smallest
        assert "the grinder has the last word" in found.remarks
        steps = [step for step in plan.groups[0].undersizes if step.high is not None]
        lesser = [step for step in steps if step.high and step.high.mm <= smallest]
        assert lesser[0].name == found.undersize
    elif found.step == "shelf":
        assert smallest is not None
        assert smallest < to_mm(Decimal("2.719"), "in")
    elif found.step == "serve-as-is":
        assert all(len(row) == 4 for row in rows)
        assert smallest is not None
        assert smallest >= plan.journals[0].limits.low.mm
    else:
        assert found.step in ("bearing-undersize", "undecided", "not-assessed")
