"""Decisions against limits, exact to the last digit, and the probabilities behind them."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.metrology.conformity import (
    DecisionRule,
    FormVerdict,
    SizeVerdict,
    conformance_probability,
    decide_size,
    decide_upper,
)

LOW, HIGH = Decimal("57.982"), Decimal("58.000")
U = Decimal("0.003")

micrometres = st.decimals(-30, 30, places=1)
guards = st.decimals(0, 12, places=1)


def size(y: str, guard: Decimal, rule: DecisionRule = "guarded") -> SizeVerdict:
    return decide_size(Decimal(y), LOW, HIGH, guard, rule)


# Derived: tolerance 57.982 to 58.000 mm, u = 0.0015 mm, U = 2 u. The third guard is 1.645 u, the
# one-sided 95 % of ISO 14253-1:2017 (from memory).
LADDER: list[tuple[str, float, SizeVerdict, SizeVerdict, SizeVerdict]] = [
    ("57.9910", 1.00000, "within", "within", "within"),
    ("57.9850", 0.97725, "within", "within", "within"),
    ("57.9845", 0.95221, "within", "undecided", "within"),
    ("57.9830", 0.74751, "within", "undecided", "undecided"),
    ("57.9820", 0.50000, "within", "undecided", "undecided"),
    ("57.9795", 0.04779, "outside-low", "undecided", "outside-low"),
    ("57.9790", 0.02275, "outside-low", "undecided", "outside-low"),
    ("57.9789", 0.01938, "outside-low", "outside-low", "outside-low"),
    ("58.0000", 0.50000, "within", "undecided", "undecided"),
]


@pytest.mark.parametrize(("y", "probability", "simple", "guarded", "guarded_one_sided"), LADDER)
def test_the_ladder_of_decisions(
    y: str,
    probability: float,
    simple: SizeVerdict,
    guarded: SizeVerdict,
    guarded_one_sided: SizeVerdict,
) -> None:
    one_sided = Decimal("1.645") * Decimal("0.0015")
    assert size(y, U, "simple") == simple
    assert size(y, U) == guarded
    assert size(y, one_sided) == guarded_one_sided
    found = conformance_probability(Decimal(y), 0.0015, LOW, HIGH)
    assert found == pytest.approx(probability, abs=5e-5)


@pytest.mark.parametrize(
    ("deviation", "decided"), [("0.0017", "within"), ("0.0020", "within"), ("0.0025", "undecided")]
)
def test_a_published_micrometer_check(deviation: str, decided: SizeVerdict) -> None:
    # A calibration article after ILAC-G8: permitted error +-0.003 mm, U = 0.0010 mm, so acceptance
    # to +-0.0020 mm; +0.0017 conforms, +0.0025 is in the grey zone
    most = Decimal("0.003")
    guard = Decimal("0.0010")
    assert decide_size(Decimal(deviation), -most, most, guard, "guarded") == decided
    assert decide_size(-Decimal(deviation), -most, most, guard, "guarded") == decided


def test_the_high_limit_mirrors_the_low_one() -> None:
    assert size("57.9970", U) == "within"  # high - U, included
    assert size("57.9971", U) == "undecided"
    assert size("58.0030", U) == "undecided"  # high + U is not yet outside
    assert size("58.0031", U) == "outside-high"
    assert size("58.0001", U, "simple") == "outside-high"


@given(away=micrometres, guard=guards)
def test_mirrored_sizes_get_mirrored_answers(away: Decimal, guard: Decimal) -> None:
    middle, step = Decimal("57.991"), Decimal("0.001")
    mirror = {"outside-low": "outside-high", "outside-high": "outside-low"}
    above = decide_size(middle + away * step, LOW, HIGH, guard * step, "guarded")
    below = decide_size(middle - away * step, LOW, HIGH, guard * step, "guarded")
    assert below == mirror.get(above, above)


@given(away=micrometres, guard=guards)
def test_a_guard_only_takes_answers_away(away: Decimal, guard: Decimal) -> None:
    """Guarded never says other than simple does, but that it does not know."""
    step = Decimal("0.001")
    y = Decimal("57.991") + away * step
    guarded = decide_size(y, LOW, HIGH, guard * step, "guarded")
    simple = decide_size(y, LOW, HIGH, guard * step, "simple")
    assert guarded in (simple, "undecided")
    assert decide_size(y, LOW, HIGH, Decimal(0), "guarded") == simple


@given(value=micrometres, guard=guards, equal=st.booleans())
def test_a_guard_only_takes_answers_on_form_away(
    value: Decimal, guard: Decimal, equal: bool
) -> None:
    limit = Decimal(10)
    guarded = decide_upper(Fraction(value), limit, guard, "guarded", equal_allowed=equal)
    simple = decide_upper(Fraction(value), limit, guard, "simple", equal_allowed=equal)
    bare = decide_upper(Fraction(value), limit, Decimal(0), "guarded", equal_allowed=equal)
    assert guarded in (simple, "undecided")
    assert bare == simple


def test_one_limit_alone() -> None:
    assert decide_size(Decimal(60), LOW, None, U, "guarded") == "within"
    assert decide_size(Decimal(50), None, HIGH, U, "guarded") == "within"
    assert decide_size(Decimal("57.9789"), LOW, None, U, "guarded") == "outside-low"
    assert decide_size(Decimal("58.0031"), None, HIGH, U, "guarded") == "outside-high"
    assert decide_size(Decimal(1), None, None, U, "guarded") == "within"


def test_a_guard_wider_than_the_tolerance_proves_nothing_within() -> None:
    wide = Decimal("0.010")
    steps = range(57_960, 58_021)
    answers = {size(str(Decimal(step) / 1000), wide) for step in steps}
    assert answers == {"outside-low", "undecided", "outside-high"}


def test_negative_guards_and_crossed_limits_are_refused() -> None:
    for rule in ("guarded", "simple"):
        with pytest.raises(ValueError, match="guard"):
            decide_size(LOW, LOW, HIGH, Decimal("-0.001"), rule)
        with pytest.raises(ValueError, match="guard"):
            decide_upper(Fraction(1), LOW, Decimal("-0.001"), rule, equal_allowed=True)
    with pytest.raises(ValueError, match="over the high limit"):
        decide_size(LOW, HIGH, LOW, U, "guarded")


FORM: list[tuple[str, DecisionRule, bool, FormVerdict]] = [
    # Derived: limit 0.0005, guard 0.0002
    ("0.0003", "guarded", True, "within"),
    ("0.0003", "guarded", False, "undecided"),
    ("0.00029", "guarded", False, "within"),
    ("0.00031", "guarded", True, "undecided"),
    ("0.0007", "guarded", True, "undecided"),
    ("0.0007", "guarded", False, "over"),
    ("0.00071", "guarded", True, "over"),
    ("0.0005", "simple", True, "within"),
    ("0.0005", "simple", False, "over"),
    ("0.00051", "simple", True, "over"),
    ("0.00049", "simple", False, "within"),
]


@pytest.mark.parametrize(("value", "rule", "equal", "decided"), FORM)
def test_form_against_its_limit(
    value: str, rule: DecisionRule, equal: bool, decided: FormVerdict
) -> None:
    found = decide_upper(
        Fraction(value), Decimal("0.0005"), Decimal("0.0002"), rule, equal_allowed=equal
    )
    assert found == decided


def test_a_third_is_compared_unrounded() -> None:
    third = Fraction(1, 3)
    close = Decimal("0.333333333333333333333333333333")
    assert decide_upper(third, close, Decimal(0), "simple", equal_allowed=True) == "over"


def test_probabilities_of_the_standard() -> None:
    # JCGM 106:2012, 7.3, examples (from memory): bursting strength and breakdown voltage
    strength = conformance_probability(Decimal("509.7"), 8.6, Decimal(490), None)
    voltage = conformance_probability(Decimal("-5.47"), 0.05, None, Decimal("-5.40"))
    assert strength == pytest.approx(0.98901, abs=1e-5)
    assert voltage == pytest.approx(0.91924, abs=1e-5)


@pytest.mark.parametrize(
    ("probability", "z"),
    [
        # JCGM 106:2012, Table 1 (from memory), to four places
        (0.80, "0.8416"),
        (0.90, "1.2816"),
        (0.95, "1.6449"),
        (0.975, "1.9600"),
        (0.99, "2.3263"),
        (0.999, "3.0902"),
    ],
)
def test_probabilities_of_one_limit(probability: float, z: str) -> None:
    assert conformance_probability(Decimal(z), 1.0, Decimal(0), None) == pytest.approx(
        probability, abs=2e-5
    )


def test_half_of_it_lies_beyond_a_limit() -> None:
    # derived: at a limit, u far under the tolerance
    assert conformance_probability(LOW, 0.0001, LOW, HIGH) == pytest.approx(0.5, abs=1e-9)


def test_probabilities_keep_their_digits_in_both_tails() -> None:
    # derived: scipy.stats.norm, by its survival function on the far side
    from scipy.stats import norm

    for y in ("8", "-8"):
        expected = norm.sf(7) - norm.sf(9)
        found = conformance_probability(Decimal(y), 1.0, Decimal(-1), Decimal(1))
        assert found == pytest.approx(expected, rel=1e-9)


def test_a_size_known_exactly_conforms_or_not() -> None:
    for y, expected in (("57.982", 1.0), ("58.000", 1.0), ("57.9819", 0.0), ("58.0001", 0.0)):
        assert conformance_probability(Decimal(y), 0.0, LOW, HIGH) == expected
    assert conformance_probability(Decimal(0), 0.0, None, None) == 1.0
    for u in (-0.001, math.nan, math.inf):
        with pytest.raises(ValueError, match="standard uncertainty"):
            conformance_probability(LOW, u, LOW, HIGH)
