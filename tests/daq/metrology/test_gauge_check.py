"""The judgement of a check on a known stack: error, spread, drift and age, with nothing rounded."""

from collections.abc import Sequence
from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.metrology.gauge_check import (
    EARLIER_CHECKS,
    CheckLimits,
    Judgement,
    age_words,
    derived_limit,
    judge,
    signed_text,
    too_coarse,
)

TWO_MICRONS = CheckLimits(Decimal("0.002"), Decimal("0.002"), Decimal("0.002"))
WIDE = Decimal(1)
MINUTE_US = 60_000_000


def errors(*texts: str) -> list[Decimal]:
    return [Decimal(text) for text in texts]


def judged(
    found: Sequence[str],
    before: Sequence[str] | None = None,
    limits: CheckLimits = TWO_MICRONS,
    age_us: int | None = None,
    max_age_us: int | None = None,
) -> Judgement:
    earlier = None if before is None else errors(*before)
    return judge(errors(*found), earlier, limits, age_us, max_age_us)


def test_a_good_before_check_passes_and_says_its_numbers() -> None:
    # mean (0.001 + 0 - 0.001 + 0.001 + 0) / 5 = 0.0002; spread 0.001 - -0.001 = 0.002
    found = judged(["0.001", "0.000", "-0.001", "0.001", "0.000"])
    assert found == Judgement(
        mean_error=Fraction(2, 10_000),
        spread=Decimal("0.002"),
        drift=None,
        passed=True,
        reason="mean error +0.0002 mm, spread 0.0020 mm",
    )


def test_drift_is_this_mean_less_the_before_checks() -> None:
    # after: mean 0.001; before: mean -0.0005; drift = 0.001 - -0.0005, and the other way round
    assert judged(["0.001"], ["-0.001", "0.000"]).drift == Fraction(15, 10_000)
    assert judged(["-0.001", "0.000"], ["0.001"]).drift == Fraction(-15, 10_000)


def test_the_reason_of_a_passed_after_check_names_the_drift() -> None:
    found = judged(["0.0010", "0.0010"], ["0.0005", "0.0005"])
    assert found.reason == "mean error +0.0010 mm, spread 0.0000 mm, drift +0.0005 mm"


def test_drift_is_against_this_stints_before_check_even_if_both_means_are_fine() -> None:
    # each mean is within 0.002 of the stack, but the gauge moved by 0.0031
    found = judged(["0.0016"], ["-0.0015"])
    assert not found.passed
    assert found.reason == "drift +0.0031 mm, permitted 0.0020 mm"


@pytest.mark.parametrize(
    ("found", "before", "reason"),
    [
        (["0.0031"], None, "mean error +0.0031 mm, permitted 0.0020 mm"),
        (["-0.0031"], None, "mean error -0.0031 mm, permitted 0.0020 mm"),
        (["-0.0015"], ["0.0016"], "drift -0.0031 mm, permitted 0.0020 mm"),
        (["0.0015", "-0.0016"], None, "spread 0.0031 mm, permitted 0.0020 mm"),
        # (0.004 - 0.001) / 2 = 0.0015 is within, 0.004 - -0.001 = 0.005 is not
        (["0.004", "-0.001"], None, "spread 0.0050 mm, permitted 0.0020 mm"),
        (
            # spread 0.003; drift 0.0035 - -0.001 = 0.0045; the mean, 0.0035, is not judged again
            ["0.005", "0.002"],
            ["-0.001"],
            "spread 0.0030 mm, permitted 0.0020 mm; drift +0.0045 mm, permitted 0.0020 mm",
        ),
        (
            ["0.005", "0.002"],
            None,
            "mean error +0.0035 mm, permitted 0.0020 mm; spread 0.0030 mm, permitted 0.0020 mm",
        ),
        (["0.0254"], None, "mean error +0.0254 mm, permitted 0.0020 mm"),
    ],
)
def test_a_failed_check_says_each_fault_with_its_number_and_the_permitted_one(
    found: list[str], before: list[str] | None, reason: str
) -> None:
    judgement = judged(found, before)
    assert (judgement.passed, judgement.reason) == (False, reason)


@pytest.mark.parametrize(
    ("found", "before"),
    [
        (["0.002"], None),
        (["-0.002"], None),
        (["0.001", "-0.001"], None),  # spread 0.002
        (["0.001"], ["-0.001"]),  # drift 0.002
        (["-0.001"], ["0.001"]),
        # the mean of 0.001 and 0.003 is 0.002, and so is their spread
        (["0.001", "0.003"], None),
    ],
)
def test_a_value_equal_to_its_limit_is_allowed(found: list[str], before: list[str] | None) -> None:
    assert judged(found, before).passed


def test_a_mean_is_judged_by_sums_and_not_as_it_prints() -> None:
    # (0.002 + 0.002 + 0.0021) / 3 = 0.0061 / 3 > 0.006 / 3. At the four decimals of a shop's
    # figures it is 0.0020.
    found = judged(["0.002", "0.002", "0.0021"])
    assert found.mean_error == Fraction(61, 30_000)
    assert not found.passed
    assert found.reason == "mean error +0.00203 mm, permitted 0.0020 mm"


def test_thirds_that_no_decimal_holds_are_judged_exactly() -> None:
    # drift 0.0061/3 - 0.0001/3 = 0.0060/3 = 0.002 exactly: allowed
    limits = CheckLimits(WIDE, WIDE, Decimal("0.002"))
    assert judged(["0.002", "0.002", "0.0021"], ["0", "0", "0.0001"], limits).passed
    # 0.0061/3 - 0/3 is over
    assert not judged(["0.002", "0.002", "0.0021"], ["0", "0", "0"], limits).passed


@pytest.mark.parametrize(
    ("found", "before", "limits", "said"),
    [
        # (0.002 x 2 + 0.002001) / 3 = 0.00200033...: prints as the limit itself
        (["0.002", "0.002", "0.002001"], None, TWO_MICRONS, "mean error +0.0020 "),
        (["-0.002", "-0.002", "-0.002001"], None, TWO_MICRONS, "mean error -0.0020 "),
        (
            ["0.002", "0.002", "0.002001"],
            ["0"],
            CheckLimits(WIDE, WIDE, Decimal("0.002")),
            "drift +0.0020 ",
        ),
        # a tenth of 0.0008 in is 0.002032 mm: 0.0020321 is over it but prints as 0.00203
        (
            ["0.0020321"],
            None,
            CheckLimits(Decimal("0.002032"), WIDE, WIDE),
            "mean error +0.00203 ",
        ),
    ],
)
def test_an_excess_below_what_is_printed_is_said(
    found: list[str], before: list[str] | None, limits: CheckLimits, said: str
) -> None:
    judgement = judged(found, before, limits)
    assert not judgement.passed
    assert judgement.reason.startswith(said)
    assert "a little more than that" in judgement.reason


def test_a_visible_excess_is_not_called_hidden() -> None:
    assert "a little more" not in judged(["0.0021"]).reason


@pytest.mark.parametrize(
    ("age_us", "passed"),
    [
        (0, True),
        (240 * MINUTE_US, True),
        (240 * MINUTE_US + 1, False),
        (241 * MINUTE_US, False),
        (-1, False),
    ],
)
def test_a_check_counts_only_within_the_permitted_age(age_us: int, passed: bool) -> None:
    found = judged(["0"], ["0"], age_us=age_us, max_age_us=240 * MINUTE_US)
    assert found.passed == passed


def test_a_before_check_has_no_age() -> None:
    assert judged(["0"], max_age_us=1).passed


def test_an_old_check_says_how_old_and_what_is_permitted() -> None:
    # 250.5 minutes
    words = age_words(15_030_000_000, 240 * MINUTE_US)
    assert words == "the last passed check is 250.5 min old, permitted 240 min"


def test_an_age_that_prints_as_the_permitted_one_says_that_it_is_more() -> None:
    assert "240 min (and a little more" in age_words(240 * MINUTE_US + 1, 240 * MINUTE_US)


def test_a_clock_that_went_back_is_said_and_no_negative_age() -> None:
    words = age_words(-5, 240 * MINUTE_US)
    assert "clock went back" in words
    assert "-" not in words


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(31, 10_000), "+0.0031"),
        (Fraction(-31, 10_000), "-0.0031"),
        (Fraction(0), "0.0000"),
        (Fraction(1, 10**9), "0.0000"),  # neither +0 nor -0
        (Fraction(-1, 10**9), "0.0000"),
        (Fraction(254, 100_000), "+0.00254"),
        (Fraction(1, 3), "+0.33333"),
        (Fraction(15, 10**6), "+0.00002"),  # half to even
        (Fraction(-25, 10**6), "-0.00002"),
    ],
)
def test_a_mean_for_people_has_a_sign_and_four_decimals_or_five(value: Fraction, text: str) -> None:
    assert signed_text(value) == text


@pytest.mark.parametrize(
    ("tolerance", "step", "steps", "limit"),
    [
        ("0.020", "0.001", 1, "0.002"),
        ("0.020", "0.005", 1, "0.005"),
        # 0.0008 in = 0.02032 mm; a tenth of it is under one step of 0.0001 in = 0.00254 mm
        ("0.02032", "0.00254", 1, "0.00254"),
        ("0.020", "0.001", 3, "0.003"),
        ("0.031", "0.001", 3, "0.0031"),
        ("0.013", "0.001", 2, "0.002"),
    ],
)
def test_a_derived_limit_is_a_tenth_of_the_tolerance_but_at_least_some_steps(
    tolerance: str, step: str, steps: int, limit: str
) -> None:
    assert derived_limit(Decimal(tolerance), Decimal(step), steps) == Decimal(limit)


def test_without_a_tolerance_no_limit_is_derived() -> None:
    assert derived_limit(None, Decimal("0.001"), 2) is None


def test_an_earlier_rule_set_judges_the_mean_error_of_every_check() -> None:
    found = judge(errors("0.005", "0.002"), errors("0.003"), TWO_MICRONS, rules=EARLIER_CHECKS)
    # drift 0.0035 - 0.003 = 0.0005
    assert found.reason == (
        "mean error +0.0035 mm, permitted 0.0020 mm; spread 0.0030 mm, permitted 0.0020 mm"
    )


def test_a_quarter_of_the_tolerance_is_allowed_and_the_least_more_is_too_coarse() -> None:
    # 0.0225 / 4 = 0.005625
    tolerance = Decimal("0.0225")
    assert too_coarse("a step of", Decimal("0.005625"), tolerance) is None
    fault = too_coarse("a step of", Decimal("0.005625000000001"), tolerance)
    assert fault is not None
    assert "too coarse: a step of 0.005625000000001 mm is over a quarter" in fault
    assert too_coarse("a step of", Decimal(9), None) is None


READINGS = st.lists(
    st.decimals(min_value="-0.01", max_value="0.01", places=6, allow_nan=False),
    min_size=1,
    max_size=9,
)


@given(READINGS, st.none() | READINGS)
def test_the_order_of_the_readings_changes_no_judgement(
    found: list[Decimal], before: list[Decimal] | None
) -> None:
    assert judge(found, before, TWO_MICRONS) == judge(found[::-1], before, TWO_MICRONS)


@given(READINGS, READINGS)
def test_turning_every_sign_turns_error_and_drift_and_keeps_the_verdict(
    found: list[Decimal], before: list[Decimal]
) -> None:
    one = judge(found, before, TWO_MICRONS)
    other = judge(
        [value.copy_negate() for value in found],
        [value.copy_negate() for value in before],
        TWO_MICRONS,
    )
    assert one.drift is not None
    assert (other.mean_error, other.spread) == (-one.mean_error, one.spread)
    assert (other.drift, other.passed) == (-one.drift, one.passed)


def test_the_ambient_decimal_context_decides_nothing() -> None:
    with localcontext(prec=2):
        assert judged(["0.002", "0.002", "0.0021"]).mean_error == Fraction(61, 30_000)
        assert judged(["0.00101", "-0.00099"]).spread == Decimal("0.00200")
        assert too_coarse("it", Decimal("0.0050001"), Decimal("0.020")) is not None
