"""Mean and scatter against the certified values of the NIST Statistical Reference Datasets."""

import math
import statistics
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.metrology.statistics.samples import (
    Real,
    Sample,
    Squares,
    mean,
    pooled,
    pooled_squares,
    sample,
    sd,
    squares,
    together,
)
from tests.daq.metrology.statistics.tables import michelson, near, rows

DIAMETERS = st.decimals("-1000", "1000", places=4, allow_nan=False)


def alternating(first: str, low: str, high: str) -> list[Decimal]:
    """NumAcc2 to NumAcc4: 1 value, then 500 pairs."""
    return [Decimal(first), *[Decimal(low), Decimal(high)] * 500]


def test_michelson() -> None:
    # NIST StRD Michelso, certified: 299.8524, 0.0790105478190518
    values = [Fraction(value, 1000) + 299 for value in michelson()]
    assert mean(values) == pytest.approx(299.8524, rel=1e-15)
    assert sd(values) == pytest.approx(0.0790105478190518, rel=1e-13)


def test_three_large_numbers() -> None:
    # NIST StRD NumAcc1, certified, exact
    values = [10000001, 10000003, 10000002]
    assert (mean(values), sd(values), squares(values)) == (10000002, 1, Squares(2, 2))


@pytest.mark.parametrize(
    ("first", "low", "high"),
    [
        ("1.2", "1.1", "1.3"),
        ("1000000.2", "1000000.1", "1000000.3"),
        ("10000000.2", "10000000.1", "10000000.3"),
    ],
    ids=["NumAcc2", "NumAcc3", "NumAcc4"],
)
def test_stiff_sets_as_decimals(first: str, low: str, high: str) -> None:
    # NIST StRD NumAcc2, 3 and 4, certified: mean as the first value, sd 0.1
    values = alternating(first, low, high)
    assert mean(values) == float(first)
    assert sd(values) == pytest.approx(0.1, rel=1e-15)
    # derived: 1000 deviations of 0.1
    assert squares(values) == Squares(10.0, 1000)


@pytest.mark.parametrize(("offset", "tolerance"), [(0, 1e-13), (999_999, 1e-9), (9_999_999, 1e-8)])
def test_one_pass_variance_would_lose_all_digits(offset: int, tolerance: float) -> None:
    # The same sets as floats, which cannot hold the .1: what floats hold is taken exactly. The
    # one-pass formula in floats gives a negative variance for the last (a mistake of its own).
    values = [offset + 1.2, *[offset + 1.1, offset + 1.3] * 500]
    assert sd(values) == pytest.approx(0.1, rel=tolerance)
    if offset > 1_000_000:
        naive = sum(x * x for x in values) - sum(values) ** 2 / len(values)
        assert abs(naive / 1000 - 0.01) > 0.01


def test_sample_not_population_scatter() -> None:
    # NIST/SEMATECH e-Handbook 6.3.2.2, data; derived: / (n - 1) gives 2.03385, / n 1.92948
    values = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
    close = near(5e-6)
    assert sd(values) == close(2.03385)
    assert sd(values) * math.sqrt(9 / 10) == close(1.92948)
    assert squares(values).total == pytest.approx(9 * sd(values) ** 2)


def test_scatter_is_that_of_one_reading_not_of_the_mean() -> None:
    # by hand: deviations of 1 um each, so sqrt(4 / 3) um; of the mean it would be half that
    four = [Decimal("0.001"), Decimal("0.003"), Decimal("0.001"), Decimal("0.003")]
    assert sd(four) == pytest.approx(0.001 * math.sqrt(4 / 3), rel=1e-14)


def test_variances_are_pooled_by_degrees_of_freedom() -> None:
    # NIST/SEMATECH e-Handbook 2.4.4: sums of squares of 5 wafers, 60 degrees of freedom each;
    # prints 0.10290, unrounded 0.102897
    wafers = [0.48115, 0.69209, 0.48483, 1.21752, 0.30076]
    found = pooled_squares([Squares(square, 60) for square in wafers])
    assert (found.sd, found.dof) == (near(5e-6)(0.10290), 300)
    again = pooled([(math.sqrt(square / 60), 60) for square in wafers])
    assert again.sd == pytest.approx(found.sd, rel=1e-14)


def test_standard_deviations_are_never_averaged() -> None:
    wafers = [math.sqrt(s / 60) for s in (0.48115, 0.69209, 0.48483, 1.21752, 0.30076)]
    assert sum(wafers) / 5 == near(5e-6)(0.100018)  # 3 % too small
    assert pooled([(s, 60) for s in wafers]).sd == near(5e-6)(0.102897)
    # and unequal degrees of freedom weigh: by hand, sqrt((1 * 9 + 9 * 1) / 10)
    assert pooled([(3.0, 1), (1.0, 9)]).sd == pytest.approx(math.sqrt(1.8), rel=1e-15)


@given(st.lists(DIAMETERS, min_size=2, max_size=40))
def test_agrees_with_the_standard_library(values: list[Decimal]) -> None:
    assert mean(values) == float(statistics.mean(map(Fraction, values)))
    variance = statistics.variance(map(Fraction, values))
    assert squares(values) == Squares(float(variance * (len(values) - 1)), len(values) - 1)
    assert sd(values) == pytest.approx(float(statistics.stdev(values)), rel=1e-14, abs=1e-300)


@given(st.lists(DIAMETERS, min_size=2, max_size=20), DIAMETERS)
def test_scatter_knows_nothing_of_the_origin(values: list[Decimal], origin: Decimal) -> None:
    assert sd([value + origin for value in values]) == sd(values)


def test_readings_that_agree_to_a_tenth_of_a_micrometre_still_show_their_scatter() -> None:
    # by hand: 59.98 and 0, 1, 2 tenths: 0.01 + 0 + 0.01 = 0.02 um^2 about their mean
    for far in (Decimal("59.98"), Decimal("499.98")):
        found = squares([far + Decimal(n) / 10_000 for n in range(3)])
        assert found == Squares(0.02e-6, 2)


def test_resistivity_by_five_instruments() -> None:
    # NIST StRD SiRstv, certified: sums of squares within instruments and between them, and the
    # residual standard deviation
    data = rows("resistivity")
    groups = [[Decimal(r["value"]) for r in data if r["instrument"] == each] for each in "12345"]
    within = together(map(squares, groups))
    every = squares([value for group in groups for value in group])
    assert (within.dof, every.dof) == (20, 24)
    assert within.total == pytest.approx(2.16636560000000e-01, rel=1e-13)
    assert every.total - within.total == pytest.approx(5.11462616000000e-02, rel=1e-13)
    found = pooled_squares(map(squares, groups))
    assert found.sd == pytest.approx(1.04076068334656e-01, rel=1e-13)


def test_sets_of_values_count_about_their_own_means() -> None:
    # by hand: 1, 3 about 2 and 11, 12, 16 about 13: 1 + 1 and 4 + 1 + 9, dof 1 and 2
    sets: list[list[int]] = [[1, 3], [11, 12, 16], [7]]
    assert together(map(squares, sets)) == Squares(16, 3)
    assert together([]) == Squares(0, 0)


def test_kinds_of_numbers_mix() -> None:
    values: list[Real] = [1, 2.0, Decimal(3), Fraction(4)]
    assert sample(values) == Sample(4, 2.5, math.sqrt(5 / 3))


@pytest.mark.parametrize("bad", [Decimal("NaN"), math.inf, math.nan, Decimal("-Infinity")])
def test_what_is_no_number_is_refused(bad: Real) -> None:
    with pytest.raises(ValueError, match="no finite number"):
        sd([1, bad])


def test_too_few_values_are_refused() -> None:
    with pytest.raises(ValueError, match="no values"):
        mean([])
    for one in (sd, sample):
        with pytest.raises(ValueError, match=r"1 values; .* takes? 2 or more"):
            one([1.0])
    with pytest.raises(ValueError, match="no values"):
        squares([])
    assert squares([Decimal("59.98")]) == Squares(0.0, 0)
    with pytest.raises(ValueError, match="no degrees of freedom"):
        pooled([(0.1, 0)])
    with pytest.raises(ValueError, match="below 0"):
        pooled([(-0.1, 3)])
    with pytest.raises(ValueError, match="sample of 1"):
        Sample(1, 0.0, 0.1)
