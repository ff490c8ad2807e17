"""What must hold of every estimate and every answer, whatever the numbers."""

from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from daq.evaluation.conditions import Checks, Conditions, size_components
from daq.plan.plan import DecisionPlan
from tests.estimate_builders import checks, conditions, judged_by_3, scatter
from tests.judged_builders import Table, limits

SURER = {"below": 1, "above": 1, "within": 1, "undecided": 0}
LIMITS = limits(out_of_round="0.005 mm", taper="0.005 mm")
ANGLES = (0, 45, 90, 135)

steps = st.integers(min_value=-12, max_value=24)
eight = st.lists(steps, min_size=8, max_size=8)
errors_um = st.integers(min_value=-20, max_value=20)
sd_um = st.sampled_from(["0.2", "0.289", "0.4", "0.7", "1.1"])


def table(read: list[int], repeats: int = 1, shift: int = 0) -> Table:
    """Readings in steps of 0.001 mm over the low limit of 59.970, each so many times."""
    texts = [" ".join([str(Decimal(59970 + r + shift) / 1000)] * repeats) for r in read]
    return {
        "front": dict(zip(ANGLES, texts[:4], strict=True)),
        "rear": dict(zip(ANGLES, texts[4:], strict=True)),
    }


def tenths(error: int) -> str:
    return str(Decimal(error) / 10)


@given(read=eight, sd=sd_um, before=errors_um, after=errors_um, more=st.integers(2, 5))
def test_more_repeats_of_the_same_values_never_give_a_less_decided_answer(
    read: list[int], sd: str, before: int, after: int, more: int
) -> None:
    about = conditions(around=checks(tenths(before), tenths(after)), s=scatter(sd))
    once = judged_by_3(table(read), LIMITS, about)
    often = judged_by_3(table(read, more), LIMITS, about)
    assert SURER[often.result.size_verdict] >= SURER[once.result.size_verdict]
    assert once.size is not None
    assert often.size is not None
    assert often.size.smallest.y_mm == once.size.smallest.y_mm
    assert often.size.smallest.guard_mm <= once.size.smallest.guard_mm


@given(read=eight, before=errors_um, after=errors_um, shift=st.integers(-9, 9))
def test_gauge_and_stack_readings_shifted_alike_leave_every_estimate(
    read: list[int], before: int, after: int, shift: int
) -> None:
    still = conditions(around=checks(tenths(before), tenths(after)), s=scatter("0.4"))
    moved = conditions(
        around=checks(tenths(before + 10 * shift), tenths(after + 10 * shift)), s=scatter("0.4")
    )
    assert (
        judged_by_3(table(read), LIMITS, still).result.smallest_mm
        == judged_by_3(table(read, shift=shift), LIMITS, moved).result.smallest_mm
    )


@given(read=eight, before=errors_um, drift=st.integers(0, 20), sd=sd_um)
def test_a_creep_up_and_a_creep_down_mirror_each_other(
    read: list[int], before: int, drift: int, sd: str
) -> None:
    """The error at a place is the same share away from the before-check, on the other side; what
    drift adds to the uncertainty is the same.
    """

    def of(sign: int) -> tuple[Fraction, Decimal]:
        around = checks(tenths(before), tenths(before + sign * drift))
        found = judged_by_3(table(read), LIMITS, conditions(around=around, s=scatter(sd))).size
        assert found is not None
        return found.smallest.y_mm, found.smallest.guard_mm

    (up, guard_up), (down, guard_down) = of(1), of(-1)
    flat, _ = of(0)
    assert up - flat == flat - down == -Fraction(drift, 20_000)
    assert guard_up == guard_down


def with_limits(part_c: str | None, stack_c: str | None) -> Conditions:
    """Conditions whose temperatures are known only within half a kelvin."""
    return conditions(s=scatter("0.4"), part_c=part_c, stack_c=stack_c, limits_k="0.5")


def test_without_temperatures_or_at_20_degrees_nothing_is_corrected_and_their_lines_stay() -> None:
    for about in (with_limits(None, None), with_limits("20", "20")):
        assert about.estimate(Fraction("59.98")) == Fraction("59.98")
        names = [line.name for line in size_components(about, Fraction("59.98"), 1)]
        assert any("temperature" in name for name in names), names


@given(read=eight, sd=sd_um)
def test_surer_answers_are_asked_for_by_a_higher_confidence(read: list[int], sd: str) -> None:
    about = conditions(s=scatter(sd))
    low = judged_by_3(table(read), LIMITS, about, DecisionPlan(confidence=0.8))
    high = judged_by_3(table(read), LIMITS, about, DecisionPlan(confidence=0.99))
    assert SURER[high.result.size_verdict] <= SURER[low.result.size_verdict]


def test_a_bracket_that_no_check_has_closed_is_provisional() -> None:
    open_one: Checks = checks("0.4", None)
    found = judged_by_3(table([9] * 8), LIMITS, conditions(around=open_one)).result
    assert found.provisional == "yes"
    assert judged_by_3(table([9] * 8), LIMITS).result.provisional == ""
