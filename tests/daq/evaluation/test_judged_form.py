"""A journal's form against its limits: each answer, which comes first, equality, four steps.

A place is known to a step of 0.001 mm: u of a difference is sqrt(2/12) = 0.408 um, k 1.645, guard
0.00068 mm.
"""

from decimal import Decimal

import msgspec
import pytest

from daq.lengths import Limits, parse_length
from daq.metrology.conformity import DecisionRule
from daq.plan.plan import DecisionPlan
from daq.record.results import JournalResult
from tests.estimate_builders import conditions, judged_by_3
from tests.judged_builders import Table, limits

LOW, HIGH = "59.900 mm", "60.100 mm"


def of(
    table: Table,
    out_of_round: str | None = None,
    taper: str | None = None,
    *,
    rule: DecisionRule = "guarded",
    against: Limits | None = None,
) -> JournalResult:
    given = against or limits(LOW, HIGH, out_of_round, taper)
    return judged_by_3(table, given, conditions(), DecisionPlan(rule=rule)).result


def less(mm: str) -> str:
    return f"{Decimal('59.980') - Decimal(mm)}"


def three(mm: str) -> Table:
    """One station of three angles whose range is `mm`: an oval of 4/3 of it."""
    return {"front": {0: "59.980", 60: "59.980", 120: less(mm)}}


def ends(mm: str) -> Table:
    """Front and rear at one angle, apart by `mm`."""
    return {"front": {0: "59.980"}, "rear": {0: less(mm)}}


# --- the guarded limit ---


@pytest.mark.parametrize(
    ("apart", "answer"),
    [
        ("0.00932", "within"),  # 0.010 - 0.00068: equal
        ("0.009321", "undecided"),
        ("0.010", "undecided"),
        ("0.01068", "undecided"),  # equal is not over
        ("0.010681", "over"),
    ],
)
def test_a_taper_is_within_or_over_where_the_guard_lets_it_be(apart: str, answer: str) -> None:
    found = of(ends(apart), taper="0.010 mm")
    assert found.taper_uncertainty_mm == "0.00068"
    assert found.form_verdict == answer


def under(limit: str) -> Limits:
    """A limit of taper that must be stayed under."""
    return msgspec.structs.replace(limits(LOW, HIGH, None, limit), is_form_equal_allowed=False)


@pytest.mark.parametrize(
    ("apart", "answer"),
    [
        ("0.009319", "within"),
        ("0.00932", "undecided"),
        ("0.010679", "undecided"),
        ("0.01068", "over"),
    ],
)
def test_a_limit_that_must_be_stayed_under_is_strict(apart: str, answer: str) -> None:
    assert of(ends(apart), against=under("0.010 mm")).form_verdict == answer


@pytest.mark.parametrize(
    ("apart", "allowed", "strict"),
    [
        ("0.009999", "within", "within"),
        ("0.010", "within", "over"),
        ("0.010001", "over", "over"),
    ],
)
def test_by_simple_acceptance_the_limit_alone_decides(
    apart: str, allowed: str, strict: str
) -> None:
    assert of(ends(apart), taper="0.010 mm", rule="simple").form_verdict == allowed
    assert of(ends(apart), against=under("0.010 mm"), rule="simple").form_verdict == strict


def test_the_guard_is_that_of_the_value_it_stands_beside() -> None:
    # three angles: the oval, 4/3 of 6 um, known to k 2 sqrt(2/3) 0.2887 = 0.7755; taper to 0.6715
    found = of({**three("0.006"), "rear": {0: "59.980"}}, "0.009 mm", "0.009 mm")
    assert found.out_of_round_mm == "0.00800"
    assert (found.out_of_round_uncertainty_mm, found.taper_uncertainty_mm) == ("0.00078", "0.00068")
    assert found.form_uncertainty_mm == "0.00078"


# --- two angles ---


def crossed(apart_90: str, rear: str = "59.980") -> Table:
    """Front and rear at 0 and 90 degrees; the second reading of each less by this."""
    by = Decimal(apart_90)
    return {
        "front": {0: "59.980", 90: f"{Decimal('59.980') - by}"},
        "rear": {0: rear, 90: f"{Decimal(rear) - by}"},
    }


@pytest.mark.parametrize("rule", ["guarded", "simple"])
def test_two_angles_that_show_nothing_have_not_seen_an_oval(rule: DecisionRule) -> None:
    found = of(crossed("0"), "0.005 mm", rule=rule)
    assert (found.out_of_round_mm, found.ovality_seen) == ("0.00000", "0.0000")
    assert (found.form_verdict, found.verdict) == ("not-seen", "within")


@pytest.mark.parametrize("rule", ["guarded", "simple"])
def test_what_two_angles_show_over_the_limit_is_over(rule: DecisionRule) -> None:
    found = of(crossed("0.007"), "0.005 mm", rule=rule)
    assert (found.form_verdict, found.verdict) == ("over", "out-of-form")


def test_two_angles_too_near_to_the_limit_are_not_seen_and_not_undecided() -> None:
    assert of(crossed("0.005"), "0.005 mm").form_verdict == "not-seen"


@pytest.mark.parametrize("rule", ["guarded", "simple"])
def test_not_seen_goes_before_the_four_steps(rule: DecisionRule) -> None:
    # 0.003 is under four steps of 0.001: with angles enough it is undecided
    assert of(crossed("0"), "0.003 mm", rule=rule).form_verdict == "not-seen"
    assert of(three("0"), "0.003 mm", rule=rule).form_verdict == "undecided"


def test_not_seen_goes_before_not_enough_positions() -> None:
    # one station: the taper was not measured
    table = {"front": {0: "59.980", 90: "59.980"}}
    found = of(table, "0.010 mm", "0.010 mm")
    assert (found.form_verdict, found.verdict) == ("not-seen", "within")
    # with three angles it is the taper that decides
    assert of(three("0"), "0.010 mm", "0.010 mm").form_verdict == "not-enough-positions"


def test_an_undecided_taper_goes_before_not_seen_and_one_over_before_both() -> None:
    near = crossed("0", rear="59.970")  # 0.010 of taper
    assert of(near, "0.010 mm", "0.010 mm").form_verdict == "undecided"
    assert of(near, "0.010 mm", "0.005 mm").form_verdict == "over"
    assert of(near, "0.010 mm", "0.020 mm").form_verdict == "not-seen"


def test_not_seen_answers_a_limit_on_out_of_round_only() -> None:
    assert of(crossed("0"), None, "0.010 mm").form_verdict == "within"
    assert of(crossed("0")).form_verdict == "no-limit"


@pytest.mark.parametrize(
    ("low", "verdict"), [("59.950 mm", "within"), ("59.980 mm", "undecided"), ("59.99 mm", "below")]
)
def test_the_size_decides_alone_where_no_oval_can_be_seen(low: str, verdict: str) -> None:
    found = of(crossed("0"), against=limits(low, HIGH, "0.005 mm"))
    assert (found.form_verdict, found.verdict) == ("not-seen", verdict)


# --- too few places, too coarse a gauge ---


def test_what_was_not_measured_is_said() -> None:
    one = of({"front": {0: "59.980"}}, "0.010 mm")
    assert (one.form_verdict, one.verdict) == ("not-enough-positions", "undecided")
    assert one.remarks == (
        "one angle only: out-of-round was not measured; "
        "fewer than two stations: taper was not measured"
    )


def test_a_journal_not_measured_in_full_is_not_within_but_may_be_over() -> None:
    table = {"front": {0: "59.980", 60: "59.980", 120: "59.980"}, "rear": {0: "59.980", 60: "-"}}
    assert of(table, "0.010 mm").form_verdict == "not-enough-positions"
    worse = {**table, "front": {0: "59.980", 60: "59.980", 120: "59.940"}}
    assert of(worse, "0.010 mm").form_verdict == "over"


@pytest.mark.parametrize(
    ("limit", "answer"), [("0.004 mm", "within"), ("0.0039999 mm", "undecided")]
)
@pytest.mark.parametrize("rule", ["guarded", "simple"])
def test_a_limit_under_four_steps_is_undecided_whatever_the_rule(
    limit: str, answer: str, rule: DecisionRule
) -> None:
    assert of(three("0"), limit, rule=rule).form_verdict == answer


def test_a_limit_under_four_steps_is_undecided_though_the_value_is_far_over_it() -> None:
    assert of(three("0.050"), "0.003 mm").form_verdict == "undecided"


# --- the worst of both ---


@pytest.mark.parametrize(
    ("out_of_round", "taper", "answer"),
    [
        ("0.020 mm", "0.020 mm", "within"),
        ("0.001 mm", "0.020 mm", "undecided"),  # under four steps
        ("0.020 mm", "0.004 mm", "over"),
        ("0.001 mm", "0.004 mm", "over"),
    ],
)
def test_the_worst_of_out_of_round_and_taper_is_the_answer(
    out_of_round: str, taper: str, answer: str
) -> None:
    table = {**three("0.006"), "rear": {0: "59.970", 60: "59.970", 120: "59.964"}}
    assert of(table, out_of_round, taper).form_verdict == answer


# --- a limit of taper per length ---


def pairs(front: str, middle: str, rear: str, limit: str) -> JournalResult:
    """Three stations at 0, 10 and 40 mm, one angle each, a limit of taper per 10 mm."""
    against = msgspec.structs.replace(
        limits(LOW, HIGH, None, limit), taper_per=parse_length("10 mm")
    )
    table = {"front": {0: front}, "middle": {0: middle}, "rear": {0: rear}}
    return judged_by_3(
        table, against, conditions(), DecisionPlan(), station_at=("0 mm", "10 mm", "40 mm")
    ).result


def test_a_pair_under_four_steps_decides_nothing_where_others_can_be_judged() -> None:
    # 2 um in 10 mm: front and middle 2, middle and rear 6, front and rear 8 um
    assert pairs("59.980", "59.979", "59.978", "0.002 mm").form_verdict == "within"


def test_a_pair_under_four_steps_can_be_proven_over() -> None:
    # 3 um against 2 um, known to 0.68
    found = pairs("59.980", "59.977", "59.978", "0.002 mm")
    assert found.form_verdict == "over"
    assert "taper judged 0.00300 mm at 0 between front and middle" in found.remarks


def test_where_no_pair_can_be_judged_it_is_undecided() -> None:
    # 0.9 um in 10 mm: 3.6 um at most, under four steps
    assert pairs("59.980", "59.980", "59.980", "0.0009 mm").form_verdict == "undecided"
