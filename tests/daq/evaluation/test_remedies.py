"""What would settle an undecided limit, in words; each remedy is enough only if all is decided.

A place is known to a step of 0.001 mm on the part and on the stack: guard 0.00068 mm.
"""

from decimal import Decimal

import msgspec
import pytest

from daq.evaluation.conditions import Conditions
from daq.evaluation.remedies import form_remedies, remedies, settling_words, size_settling
from daq.evaluation.size import SizeRule
from tests.estimate_builders import checks, conditions, judged_by_3, places_in, scatter
from tests.judged_builders import Table, limits

USED = SizeRule("guarded", 0.95, False)
GROUND = SizeRule("guarded", 0.95, True)


def words(sizes: str, about: Conditions, by: SizeRule = USED) -> str:
    row = dict(enumerate(sizes.split()))
    return settling_words(size_settling(places_in({"front": row}, about), limits(), by))


def offered(about: Conditions, count: int = 1) -> list[str]:
    return [remedy.words for remedy in remedies(about, count)]


SCATTERED = conditions(s=scatter("0.8", 30), around=checks(readings=10))
"""0.8 um a reading, the check known to half a step: u_c 0.8505 um, guard 0.00143 mm."""


def test_the_easiest_comes_first() -> None:
    warm = conditions(
        around=checks("0", None), stack_u_um=0.7, part_c=None, stack_c=None, limits_k="1"
    )
    assert offered(warm) == [
        "the closing check",
        "two readings a place",
        "let part, gauge and stack come to the same temperature, measure and give it",
        "read the stack ten times a check",
        "a better stack: grade 0 or with a certificate",
        "a gauge that reads ten times finer",
    ]


def test_what_is_had_already_is_not_offered() -> None:
    assert offered(SCATTERED) == ["two readings a place", "a gauge that reads ten times finer"]
    assert offered(SCATTERED, 3)[0] == "6 readings a place"


def test_of_a_form_stack_and_temperatures_are_no_part() -> None:
    warm = conditions(around=checks("0", None), stack_u_um=0.7, part_c=None, limits_k="1")
    assert [remedy.words for remedy in form_remedies(warm, 1)] == [
        "two readings a place",
        "read the stack ten times a check",
        "a gauge that reads ten times finer",
    ]


def test_two_readings_a_place_are_told_where_they_are_enough() -> None:
    # 1.2 um over the limit; two readings: 0.5657 and 0.2887, u_c 0.6351, k 1.68: 1.07. A finer
    # gauge helps the check alone: 0.8 sqrt(1 + 1/10) = 0.839, 1.42.
    assert words("59.9712", SCATTERED) == (
        "front/0 is 0.0012 mm from the limit and known to 0.00144 mm. This would settle it: two "
        "readings a place"
    )


def test_where_one_is_not_enough_they_are_told_together() -> None:
    # 1.0 um; two readings leave 1.07, with a finer gauge 0.8 sqrt(1/2 + 1/10) = 0.62: 1.05; so
    # 1.06 is settled by both alone
    found = words("59.97106", SCATTERED)
    assert found.endswith(
        "Only together would settle it: two readings a place and a gauge that reads ten times finer"
    )


def test_where_nothing_helps_it_is_said() -> None:
    assert "None of these would settle it, nor all together: " in words("59.97002", SCATTERED)


@pytest.mark.parametrize(
    ("size", "said"),
    [
        ("59.970", "front/0 lies on the limit itself: no gauge can decide this"),
        ("59.970009", "front/0 lies within 0.00001 mm of the limit: no gauge can decide this"),
        ("59.969991", "front/0 lies within 0.00001 mm of the limit: no gauge can decide this"),
    ],
)
def test_on_the_limit_no_gauge_can_decide(size: str, said: str) -> None:
    assert words(size, SCATTERED) == said


def test_a_ground_journal_near_its_high_limit_speaks_of_its_largest() -> None:
    assert words("59.980 59.9888", SCATTERED, GROUND).startswith("front/1 is 0.0012 mm")


def test_a_remedy_is_enough_only_if_every_place_comes_out_decided() -> None:
    # ground: the low side 1.2, the high side 1.06 um: two readings alone settle the first only
    found = words("59.9712 59.98894", SCATTERED, GROUND)
    assert found.startswith("front/1 is 0.00106 mm")
    assert "Only together" in found


def test_the_place_in_doubt_is_spoken_of_and_not_a_smaller_one_that_is_sure() -> None:
    # front: 0.8 um over, guard 0.68: sure. rear: 1.5 um over by 59.9725 less 1, guard 1.78
    table: Table = {"front": {0: "59.9708"}, "rear": {0: "59.9725"}}
    moved = conditions(around=checks("0", "2.0"), stint=2)
    found = places_in(table, {"front": conditions(), "rear": moved})
    assert settling_words(size_settling(found, limits(), USED)).startswith(
        "rear/0 is 0.0015 mm from the limit and known to 0.00178 mm"
    )


# --- form ---


def test_a_form_limit_under_four_steps_takes_a_finer_gauge() -> None:
    table = {"front": {0: "59.980", 60: "59.980", 120: "59.980"}}
    assert judged_by_3(table, limits(out_of_round="0.003 mm")).result.settled_by == (
        "a finer gauge: the form limit is under 4 steps of this one"
    )


def test_what_would_settle_a_form_is_told_with_its_own_guard() -> None:
    # Taper 4 um of 5, u sqrt(2) 0.8 = 1.131, t(0.95, 30) = 1.6973: 1.92. Two readings: 0.8, 1.36.
    # Four would be needed; a finer gauge changes nothing.
    table = {"front": {0: "59.980"}, "rear": {0: "59.976"}}
    found = judged_by_3(table, limits(taper="0.005 mm"), SCATTERED).result
    assert found.form_verdict == "undecided"
    assert found.settled_by.startswith(
        "taper is 0.001 mm from its limit and known to 0.00193 mm. None of these would settle it"
    )
    near = judged_by_3(
        {"front": {0: "59.980"}, "rear": {0: "59.9764"}}, limits(taper="0.005 mm"), SCATTERED
    ).result
    assert near.settled_by.endswith("This would settle it: two readings a place")


@pytest.mark.parametrize(
    ("limit", "finer"),
    # four steps: 0.003 / 4 = 0.00075, 0.005 / 4 = 0.00125, 0.0254 / 4 = 0.00635, 0.008 / 4 = 0.002
    [("0.003", "0.0005"), ("0.005", "0.001"), ("0.0254", "0.005"), ("0.008", "0.002")],
)
def test_a_gauge_that_a_form_limit_wants_has_four_steps_in_it(limit: str, finer: str) -> None:
    table = {"front": {0: "59.98", 60: "59.98", 120: "59.98"}}
    found = judged_by_3(table, limits(out_of_round=f"{limit} mm"), conditions(step="0.01"))
    assert found.settling is not None
    assert (found.settling.answer, found.settling.of) == ("finer-gauge", "out-of-round")
    assert found.settling.finer_mm == Decimal(finer)


def test_what_helps_is_told_apart_from_its_words() -> None:
    (place,) = places_in({"front": {0: "59.9712"}}, SCATTERED)
    found = size_settling([place], limits(), USED)
    assert (found.of, found.answer, found.at) == ("size", "alone", "front/0")
    assert (found.away_mm, found.guard_mm) == (Decimal("0.00120"), Decimal("0.00144"))
    assert (found.ways, found.readings) == (("repeats",), 2)


def test_the_finer_step_is_a_tenth_of_the_old_one() -> None:
    finer = remedies(SCATTERED, 1)[-1].better(places_in({"front": {0: "59.980"}}, SCATTERED)[0])
    assert finer.about.step_mm == Decimal("0.0001")
    assert finer.y_mm == places_in({"front": {0: "59.980"}}, SCATTERED)[0].y_mm


def test_a_remedy_leaves_the_estimate_what_it_is() -> None:
    about = msgspec.structs.replace(
        conditions(s=scatter("0.8", 30), around=checks("1", None), part_c=None, stack_u_um=1.0),
    )
    (place,) = places_in({"front": {0: "59.9812"}}, about)
    for remedy in remedies(about, 1):
        assert remedy.better(place).y_mm == place.y_mm, remedy.words
