"""How often a sound gauge fails a check by the derived limits, and how surely a drift is seen."""

import random
from decimal import Decimal

import pytest

from daq.metrology.gauge_check import CHECKS, CheckLimits, derived_limit, judge

READINGS = 5
STEP = Decimal("0.001")
TENTH_UNDER_TWO_STEPS = Decimal("0.010")
"""A tolerance of ten steps."""


def limits() -> CheckLimits:
    mean = derived_limit(TENTH_UNDER_TWO_STEPS, STEP, CHECKS.mean_steps)
    spread = derived_limit(TENTH_UNDER_TWO_STEPS, STEP, CHECKS.spread_steps)
    assert mean is not None
    assert spread is not None
    return CheckLimits(mean, spread, mean)


def check_of(chance: random.Random, offset: float, scatter: float) -> list[Decimal]:
    """The errors of a check, rounded to whole steps: `offset` and `scatter` in steps."""
    return [STEP * round(chance.gauss(offset, scatter)) for _ in range(READINGS)]


def failed(chance: random.Random, scatter: float, drift: float | None = None) -> tuple[bool, bool]:
    """Whether the check before and the check after fail, of a gauge that is off by 0.6 step and
    drifts by 0.4 step (standard deviations) unless its drift is given.
    """
    permitted = limits()
    offset = chance.gauss(0, 0.6)
    before = check_of(chance, offset, scatter)
    moved = offset + (chance.gauss(0, 0.4) if drift is None else drift)
    after = check_of(chance, moved, scatter)
    return not judge(before, None, permitted).passed, not judge(after, before, permitted).passed


@pytest.mark.parametrize(
    ("scatter", "most_percent"), [(0.3, 0.06 + 0.08), (0.5, 0.14 + 0.12), (0.7, 1.4 + 0.36)]
)
def test_a_sound_gauge_seldom_fails_a_check(scatter: float, most_percent: float) -> None:
    # The shares are those told with the limits; added is three times the standard deviation of a
    # share of 10,000 sessions, as 3 * sqrt(0.014 / 10,000) = 0.36 %.
    chance = random.Random(20261125)
    sessions = 10_000
    found = sum(any(failed(chance, scatter)) for _ in range(sessions))
    assert 100 * found / sessions <= most_percent


@pytest.mark.parametrize(("drift", "least_percent"), [(2.5, 80), (3.0, 98), (4.0, 100)])
def test_a_drift_of_some_steps_is_caught_by_the_check_after(
    drift: float, least_percent: float
) -> None:
    chance = random.Random(20261125)
    caught = sum(failed(chance, 0.4, drift)[1] for _ in range(2_000))
    assert 100 * caught / 2_000 >= least_percent
