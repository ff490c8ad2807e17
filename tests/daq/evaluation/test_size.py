"""A journal's size against its limits: which place decides, by how much, and how sure that is.

Places are known to a step of 0.001 mm on the part and as much on the stack: u_c = sqrt(2/12) =
0.40825 um without limit of freedom, k 1.64485, guard 0.6715 um, rounded up 0.00068 mm.
"""

from decimal import Decimal
from fractions import Fraction
from statistics import NormalDist

import pytest

from daq.evaluation.conditions import Conditions
from daq.evaluation.size import JudgedSize, SizeRule, judge_size, nearest
from daq.lengths import Limits
from tests.estimate_builders import EXACT_BUT_FOR_THE_STEP, checks, conditions, places_in, scatter
from tests.judged_builders import Table, limits

USED = SizeRule("guarded", 0.95, False)
GROUND = SizeRule("guarded", 0.95, True)
SIMPLE = SizeRule("simple", 0.95, False)
SIMPLE_GROUND = SizeRule("simple", 0.95, True)
GUARD = Decimal("0.00068")
U_UM = (2 / 12) ** 0.5

BAND = limits()  # 59.970 to 59.990


def judged(
    values: str, by: SizeRule = USED, against: Limits = BAND, about: Conditions | None = None
) -> JudgedSize:
    """Sizes at front/0, 1, 2 … in mm, all of one bracket."""
    row = dict(enumerate(values.split()))
    found = places_in({"front": row}, about or EXACT_BUT_FOR_THE_STEP)
    return judge_size(found, against, by)


def normal(um: float, u_um: float = U_UM) -> float:
    return NormalDist().cdf(um / u_um)


# --- the low side ---


@pytest.mark.parametrize(
    ("smallest", "answer"),
    [
        ("59.97068", "within"),  # equal to the guarded limit
        ("59.970679", "undecided"),
        ("59.970", "undecided"),
        ("59.969321", "undecided"),
        ("59.96932", "below"),  # equal again
        ("59.960", "below"),
    ],
)
@pytest.mark.parametrize("by", [USED, GROUND])
def test_the_smallest_is_held_against_the_low_limit_with_the_guard(
    smallest: str, answer: str, by: SizeRule
) -> None:
    found = judged(f"59.980 {smallest} 59.981", by)
    assert found.answer == answer
    assert found.smallest.guard_mm == GUARD
    assert found.smallest.place.at == "front/1"


def test_the_guard_is_rounded_up_and_the_probability_goes_by_the_unrounded_uncertainty() -> None:
    found = judged("59.9705")
    assert found.probability == pytest.approx(normal(0.5), abs=1e-12)
    assert found.smallest.budget.expanded * 1000 == pytest.approx(0.67152, abs=1e-4)


def test_many_places_near_the_limit_are_no_less_sure_than_one() -> None:
    one, eight = judged("59.9708"), judged(" ".join(["59.9708"] * 8))
    assert (one.answer, one.probability) == (eight.answer, eight.probability)


def test_few_degrees_of_freedom_widen_guard_and_probability_alike() -> None:
    # s 2 um of 3 degrees of freedom on the part, steps on the stack: u_c**2 = 4 + 0.0833, freedom
    # 3.13 cut to 3: k 2.3534, guard 4.7555 um
    about = conditions(s=scatter("2", 3), on_stack=scatter("0", 8))
    found = judged("59.980", about=about)
    assert found.smallest.guard_mm == Decimal("0.00476")
    assert judged("59.97476", about=about).answer == "within"
    # at the guard itself, unrounded, P is the confidence
    assert judged("59.9747555", about=about).probability == pytest.approx(0.95, abs=1e-4)


@pytest.mark.parametrize(("confidence", "guard"), [(0.9, "0.00053"), (0.99, "0.00095")])
def test_the_plans_confidence_gives_the_guard(confidence: float, guard: str) -> None:
    # 1.28155 * 0.40825 = 0.5232; 2.32635 * 0.40825 = 0.9497
    found = judged("59.980", SizeRule("guarded", confidence, False))
    assert found.smallest.guard_mm == Decimal(guard)


# --- the high side ---


@pytest.mark.parametrize(
    ("largest", "used", "ground"),
    [
        ("59.98932", "within", "within"),
        ("59.989321", "within", "undecided"),
        ("59.990", "within", "undecided"),
        ("59.990679", "within", "undecided"),
        ("59.99068", "above", "above"),
        ("59.999", "above", "above"),
    ],
)
def test_wear_makes_nothing_larger_so_a_used_journal_is_only_surely_above(
    largest: str, used: str, ground: str
) -> None:
    values = f"59.980 {largest} 59.981"
    assert judged(values, USED).answer == used
    assert judged(values, GROUND).answer == ground


def test_below_comes_before_above() -> None:
    for by in (USED, GROUND, SIMPLE, SIMPLE_GROUND):
        assert judged("59.960 59.999", by).answer == "below"


def test_an_undecided_low_side_is_above_where_the_high_limit_is_surely_passed() -> None:
    assert judged("59.970 59.999", USED).answer == "above"


def test_without_a_high_limit_nothing_is_above() -> None:
    no_high = limits(high=None)
    for by in (USED, GROUND, SIMPLE):
        found = judged("59.980 99.0", by, no_high)
        assert found.answer == "within"
        assert found.probability == pytest.approx(normal(10.0))


def test_what_is_shown_is_the_smallest_or_the_largest_where_that_is_above() -> None:
    about = conditions(permitted="0.003", stack="59.970")  # so that sizes differ in uncertainty
    within, above = judged("59.971 59.980", about=about), judged("59.980 60.100", about=about)
    assert within.decisive.place.at == "front/0"
    assert above.decisive.place.at == "front/1"
    assert above.decisive.budget.combined > above.smallest.budget.combined


def test_used_and_above_shows_how_probable_it_is_that_the_high_limit_is_kept() -> None:
    assert judged("59.980 59.9911").probability == pytest.approx(normal(-1.1), abs=1e-9)


def test_used_and_within_is_sure_by_the_low_side_alone() -> None:
    assert judged("59.9712 59.9901").probability == pytest.approx(normal(1.2), abs=1e-9)


def test_ground_takes_both_sides_together_and_is_never_under_zero() -> None:
    both = judged("59.9708 59.9895", GROUND)
    assert both.probability == pytest.approx(normal(0.8) + normal(0.5) - 1, abs=1e-9)
    assert judged("59.960 59.999", GROUND).probability == 0.0


def test_ground_each_limit_is_held_to_the_confidence_by_itself() -> None:
    # both sides just at the guard: within, though together they are 2 * 0.9521 - 1 = 0.904
    found = judged("59.97068 59.98932", GROUND)
    assert found.answer == "within"
    assert found.probability == pytest.approx(2 * normal(0.68) - 1, abs=1e-9)
    assert found.probability < 0.95
    assert found.decisive.place.at == "front/0", "guard and budget are the smallest's"


# --- the limits alone ---


@pytest.mark.parametrize("by", [SIMPLE, SIMPLE_GROUND])
@pytest.mark.parametrize(
    ("values", "answer"),
    [
        ("59.970 59.980", "within"),
        ("59.9699999 59.980", "below"),
        ("59.980 59.990", "within"),
        ("59.980 59.9900001", "above"),
    ],
)
def test_by_simple_acceptance_the_limits_themselves_are_within(
    values: str, answer: str, by: SizeRule
) -> None:
    found = judged(values, by)
    assert found.answer == answer
    assert found.smallest.guard_mm == GUARD, "printed all the same"
    assert 0 <= found.probability <= 1


# --- several brackets and stints ---


CLOSE = conditions()
WIDE = conditions(around=checks("0", "2.0"), stint=2)
"""Takes 1 um off, and knows it to sqrt(2/12 + 1) = 1.0801 um: guard 1.7767 um."""


def of_brackets(table: Table, front: Conditions, rear: Conditions, by: SizeRule) -> JudgedSize:
    return judge_size(places_in(table, {"front": front, "rear": rear}), BAND, by)


def test_each_bracket_is_judged_with_its_own_uncertainty_and_the_worst_answer_counts() -> None:
    # front 59.9708: 0.8 over, guard 0.68. rear 59.9725 less 1: 1.5 over, guard 1.78.
    table = {"front": {0: "59.9708"}, "rear": {0: "59.9725"}}
    found = of_brackets(table, CLOSE, WIDE, USED)
    assert found.answer == "undecided"
    assert (found.smallest.place.at, found.decisive.place.at) == ("front/0", "rear/0")
    assert found.probability == pytest.approx(normal(1.5, (2 / 12 + 1) ** 0.5), abs=1e-9)
    assert found.decisive.guard_mm == Decimal("0.00178")
    assert of_brackets(table, CLOSE, CLOSE, USED).answer == "within"


def test_the_least_probability_may_be_of_the_smallest_too() -> None:
    table = {"front": {0: "59.9701"}, "rear": {0: "59.9740"}}
    found = of_brackets(table, CLOSE, WIDE, USED)
    assert (found.answer, found.decisive.place.at) == ("undecided", "front/0")
    assert found.probability == pytest.approx(normal(0.1), abs=1e-9)


def test_smallest_and_largest_are_of_all_brackets() -> None:
    table = {"front": {0: "59.976", 90: "59.984"}, "rear": {0: "59.975", 90: "59.983"}}
    found = of_brackets(table, CLOSE, WIDE, USED)
    assert (found.smallest.place.at, found.smallest.place.y_mm) == ("rear/0", Fraction("59.974"))
    assert (found.largest.place.at, found.largest.place.y_mm) == ("front/90", Fraction("59.984"))


def test_of_equal_estimates_in_two_brackets_the_first_on_the_route_is_named() -> None:
    table = {"front": {0: "59.980"}, "rear": {0: "59.981"}}  # 59.980 both
    found = of_brackets(table, CLOSE, WIDE, USED)
    assert found.smallest.place.at == found.largest.place.at == "front/0"


@pytest.mark.parametrize(
    ("front", "rear", "answer"),
    [
        ("59.960", "60.010", "below"),
        ("59.980", "60.010", "above"),
        ("59.9702", "60.010", "above"),
        ("59.9702", "59.980", "undecided"),
    ],
)
def test_the_worst_of_two_brackets_is_below_then_above_then_undecided(
    front: str, rear: str, answer: str
) -> None:
    table = {"front": {0: front}, "rear": {0: rear}}
    assert of_brackets(table, CLOSE, WIDE, USED).answer == answer


# --- which place is in doubt ---


def test_the_place_that_is_too_near_by_the_most_is_spoken_of() -> None:
    table = {"front": {0: "59.9708"}, "rear": {0: "59.9725"}}
    found = places_in(table, {"front": CLOSE, "rear": WIDE})
    at, room = nearest(found, BAND, USED)
    assert (at.place.at, room) == ("rear/0", Fraction("0.0015"))


def test_of_a_ground_journal_it_may_be_the_largest() -> None:
    row = {"front": {0: "59.9800", 90: "59.9897"}}
    found = places_in(row)
    assert nearest(found, BAND, GROUND)[0].place.at == "front/90"
    assert nearest(found, BAND, USED)[0].place.at == "front/0"
