"""How the trade states limits and wear. Common practice, no source, except where one is named."""

from decimal import Decimal

import pytest

from daq.errors import PlanError
from daq.evaluation.earlier.journals import evaluate
from daq.lengths import EXACT, Position, inward, parse_length, plain, to_mm
from daq.plan.plan import parse_plan
from daq.plan.scope import coarse_fault, make_scope
from daq.record.results import JournalResult
from tests.judged_builders import guarded, journal_plan, journal_readings, limits

TENTH_MM = Decimal("0.00254")
"""A tenth of a thousandth of an inch, which the trade calls a tenth: 0.0001 x 25.4."""


def journal(low: str, high: str | None, *inch: str, guard: str = "0") -> JournalResult:
    """Readings in inches a quarter turn apart at one station."""
    places = [Position("M1", "front", angle) for angle in (0, 90)[: len(inch)]]
    taken = {place: to_mm(Decimal(text), "in") for place, text in zip(places, inch, strict=True)}
    plan = journal_plan(limits(low, high), ("front",), (0, 90)[: len(inch)])
    return evaluate(plan, journal_readings(plan, taken), guarded(guard), None)


# The manual's 54.97-54.99 mm are worked on the bench as 2.1641-2.1649 in (common practice, no
# source). By division: 54.97 / 25.4 = 2.16417322..., 54.99 / 25.4 = 2.16496063...


def test_the_bench_figure_for_the_low_limit_is_cut_and_lies_under_the_true_one() -> None:
    # 2.1641 x 25.4 = 54.1025 + 0.86564 = 54.96814 < 54.97
    assert to_mm(Decimal("2.1641"), "in") == Decimal("54.96814")
    shown, was_rounded = inward(Decimal("54.97"), "in", Decimal("0.0001"), is_low=True)
    assert (plain(shown), was_rounded) == ("2.1642", True)


def test_the_bench_figure_for_the_high_limit_is_cut_to_the_safe_side() -> None:
    shown, was_rounded = inward(Decimal("54.99"), "in", Decimal("0.0001"), is_low=False)
    assert (plain(shown), was_rounded) == ("2.1649", True)


@pytest.mark.parametrize(("guard", "verdict"), [("0", "below"), ("0.001", "below")])
def test_a_journal_at_the_cut_figure_does_not_pass_the_metric_limit(
    guard: str, verdict: str
) -> None:
    # 54.96814 is 0.00186 under; a comparison with 2.1641 in would let it pass
    found = journal("54.97 mm", "54.99 mm", "2.1641", "2.1641", guard=guard)
    assert (found.verdict, found.margin_to_low_mm) == (verdict, "-0.00186")
    assert journal("2.1641 in", "2.1649 in", "2.1641", "2.1641").verdict == "within"


def test_a_journal_at_the_cut_figure_is_undecided_within_a_gauge_error_of_two_microns() -> None:
    # 54.97 - 0.002 = 54.968 < 54.96814: not proven to be under, and never `within`
    assert journal("54.97 mm", "54.99 mm", "2.1641", "2.1641", guard="0.002").verdict == "undecided"


def test_a_plan_takes_the_bench_figure_as_a_cross_check_of_the_true_limit() -> None:
    # 54.97 - 54.96814 = 0.00186, less than the 0.00254 of its last digit; the metric limit stands
    plan = parse_plan(
        'schema = 1\npart = "p"\n[[journal]]\nname = "M1"\n'
        'low = ["54.97 mm", "2.1641 in"]\nhigh = ["54.99 mm", "2.1649 in"]\n',
        "x",
    )
    assert plan.journals[0].limits.low.mm == Decimal("54.97")


# Wear is spoken in tenths against the minimum (common practice, no source).


@pytest.mark.parametrize(
    ("minimum", "reading", "tenths", "verdict"),
    [
        ("2.1641 in", "2.1639", -2, "below"),
        ("2.1641 in", "2.1642", 1, "within"),
        ("2.1641 in", "2.1641", 0, "within"),
        ("2.1646 in", "2.1648", 2, "within"),
        ("2.1646 in", "2.1644", -2, "below"),
    ],
)
def test_wear_is_counted_in_tenths_from_the_minimum(
    minimum: str, reading: str, tenths: int, verdict: str
) -> None:
    found = journal(minimum, None, reading)
    assert Decimal(found.margin_to_low_mm) == EXACT.multiply(Decimal(tenths), TENTH_MM)
    assert found.verdict == verdict


def test_five_tenths_out_of_round_and_judged_by_the_smaller_diameter() -> None:
    # 2.1640 - 2.1635 = 0.0005 in; the smaller is 0.0006 under 2.1641, the larger 0.0001
    found = journal("2.1641 in", "2.1649 in", "2.1635", "2.1640")
    assert Decimal(found.out_of_round_mm) == EXACT.multiply(Decimal(5), TENTH_MM)
    assert Decimal(found.smallest_mm) == to_mm(Decimal("2.1635"), "in")
    assert found.smallest_at == "front/0"
    assert Decimal(found.margin_to_low_mm) == EXACT.multiply(Decimal(-6), TENTH_MM)
    assert found.verdict == "below"


def test_a_good_larger_diameter_does_not_save_a_worn_smaller_one() -> None:
    found = journal("2.1641 in", "2.1649 in", "2.1645", "2.1640")
    assert (found.verdict, found.smallest_at) == ("below", "front/90")


# A range of 0.0008 in = 0.02032 mm; a quarter of it is 0.0002 in = 0.00508 mm. A slide caliper
# steps by 0.0005 in or 0.01 mm; a digital micrometer by 0.0001 or 0.00005 in, or 0.001 mm
# (common practice, no source).
RANGE = (
    'schema = 1\npart = "p"\n[check]\nstack = "2.1641 in"\n{check}\n'
    '[[journal]]\nname = "M1"\nlow = "2.1641 in"\nhigh = "2.1649 in"\n'
)


@pytest.mark.parametrize(
    ("step", "is_fine"),
    [
        ("0.0005 in", False),
        ("0.01 mm", False),
        ("0.001 in", False),
        ("0.0001 in", True),
        ("0.00005 in", True),
        ("0.001 mm", True),
        ("0.0002 in", True),  # exactly a quarter
        ("0.00021 in", False),
    ],
)
def test_a_caliper_is_too_coarse_for_a_crankshaft_journal(step: str, is_fine: bool) -> None:
    work = make_scope(parse_plan(RANGE.format(check=""), "x"), (), None, {})
    fault = coarse_fault(work, parse_length(step).mm)
    assert (fault is None) == is_fine
    if fault is not None:
        assert "too coarse" in fault
        assert "0.02032 mm" in fault  # the range
        assert "0.00508" in fault  # a quarter of it


def test_a_check_limit_as_wide_as_a_calipers_step_is_refused() -> None:
    with pytest.raises(PlanError, match="too coarse") as caught:
        make_scope(parse_plan(RANGE.format(check='max_error = "0.01 mm"'), "x"), (), None, {})
    assert caught.value.key == "check.max_error"
