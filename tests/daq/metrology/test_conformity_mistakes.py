"""Mistakes at a limit: binary fractions, guards the wrong way, "exceeds" and "less than"."""

from decimal import Decimal
from fractions import Fraction

import pytest

from daq.metrology.conformity import decide_size, decide_upper

LOW, HIGH = Decimal("57.982"), Decimal("58.000")
U = Decimal("0.003")


@pytest.mark.parametrize(
    ("low", "guard", "y"),
    [("2.748", "0.0005", "2.7485"), ("2.998", "0.0005", "2.9985"), ("57.982", "0.003", "57.985")],
)
def test_binary_fractions_do_not_decide_at_the_low_limit(low: str, guard: str, y: str) -> None:
    # derived: 2.748 + 0.0005 is over 2.7485 in binary, so the boundary itself would fail
    assert decide_size(Decimal(y), Decimal(low), None, Decimal(guard), "guarded") == "within"


def test_binary_fractions_would_have_decided() -> None:
    assert 2.748 + 0.0005 > 2.7485
    assert 60.008 + 0.002 > 60.010


def test_binary_fractions_do_not_decide_at_the_high_limit() -> None:
    # derived: 60.008 + 0.002 is over 60.010 in binary
    high, guard = Decimal("60.008"), Decimal("0.002")
    assert decide_size(Decimal("60.006"), None, high, guard, "guarded") == "within"
    assert decide_size(Decimal("60.010"), None, high, guard, "guarded") == "undecided"
    assert decide_size(Decimal("60.0100001"), None, high, guard, "guarded") == "outside-high"


@pytest.mark.parametrize(("inches", "mm"), [("2.998", "76.1492"), ("2.988", "75.8952")])
def test_a_converted_inch_limit_conforms_to_itself(inches: str, mm: str) -> None:
    # derived: 2.998 x 25.4 is over 76.1492 and 2.988 x 25.4 under 75.8952 in binary
    limit = Decimal(inches) * Decimal("25.4")
    for low, high in ((limit, None), (None, limit)):
        assert decide_size(Decimal(mm), low, high, Decimal(0), "guarded") == "within"


def test_a_guard_is_not_applied_outwards() -> None:
    # 57.981 is outside the limits; a guard the wrong way round would let it in
    assert decide_size(Decimal("57.981"), LOW, HIGH, U, "guarded") != "within"
    assert decide_size(Decimal("58.001"), LOW, HIGH, U, "guarded") != "within"


def test_a_guard_is_not_applied_twice() -> None:
    # with the limit and the result both moved by U, only 57.988 and more would be within
    assert decide_size(Decimal("57.985"), LOW, HIGH, U, "guarded") == "within"


@pytest.mark.parametrize("y", ["57.9820", "57.9830", "57.98499", "57.9970001", "58.0000"])
def test_within_is_never_said_inside_the_uncertainty_zone(y: str) -> None:
    assert decide_size(Decimal(y), LOW, HIGH, U, "guarded") == "undecided"


def test_the_limits_themselves_conform_by_the_simple_rule() -> None:
    # ILAC-G8:09/2019, 4.2.1: the limits are inside
    for y in (LOW, HIGH):
        assert decide_size(y, LOW, HIGH, U, "simple") == "within"


def test_exceeds_is_not_must_be_less_than() -> None:
    limit, at_limit = Decimal("0.0005"), Fraction("0.0005")
    exceeds = decide_upper(at_limit, limit, Decimal(0), "simple", equal_allowed=True)
    less_than = decide_upper(at_limit, limit, Decimal(0), "simple", equal_allowed=False)
    assert (exceeds, less_than) == ("within", "over")


def test_a_size_is_a_decimal_all_the_way() -> None:
    import decimal

    with decimal.localcontext() as context:
        context.prec = 4  # somebody else's context must not round our limits
        assert decide_size(Decimal("57.98499"), LOW, HIGH, U, "guarded") == "undecided"
