"""How well a mean of readings is known."""

import math
from decimal import Decimal
from fractions import Fraction

import msgspec
import pytest

from daq.metrology.uncertainty.mean import mean_of
from tests.estimate_builders import scatter

STEP = Decimal("0.001")
STEP_U = 0.001 / math.sqrt(12)


@pytest.mark.parametrize(
    ("sd_um", "count", "u_um", "is_scatter"),
    [
        ("0.4", 1, 0.4, True),
        ("0.4", 2, 0.4 / math.sqrt(2), False),  # 0.283 is under 0.289
        ("0.4", 5, 0.179, False),
        ("0.8", 4, 0.4, True),
        ("0", 1, 0.0, False),
    ],
)
def test_a_mean_is_known_to_the_larger_of_its_scatter_and_half_a_step(
    sd_um: str, count: int, u_um: float, is_scatter: bool
) -> None:
    found = mean_of(count, scatter(sd_um), STEP)
    assert found.is_scatter is is_scatter
    assert found.u_mm == pytest.approx(u_um / 1000 if is_scatter else STEP_U)
    assert found.dof == (8.0 if is_scatter else math.inf)


@pytest.mark.parametrize("count", [1, 2, 3, 7])
def test_where_both_are_equal_scatter_counts_compared_exactly(count: int) -> None:
    # s**2 / n = q**2 / 12
    equal = msgspec.structs.replace(scatter("0"), variance=count * Fraction(STEP) ** 2 / 12)
    assert mean_of(count, equal, STEP).is_scatter
    less = msgspec.structs.replace(equal, variance=equal.variance - Fraction(1, 10**40))
    assert not mean_of(count, less, STEP).is_scatter
