"""How far a gauge drifts in one stint, by the stints of its history."""

import math
from collections.abc import Sequence
from decimal import Decimal

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.gauges.drift_history import drift_history
from daq.gauges.history import AnyRecord, CheckRecord
from tests.daq.gauges.history_builders import adjusted, check, daily

LIMIT = "0.100"


def one(session: str, phase: str, um: int, *, stint: int = 1, passed: bool = True) -> CheckRecord:
    """A check of two readings whose mean error is so many um."""
    values = (str(Decimal(59970 + um + away) / 1000) for away in (-1, 1))
    found = check(*values, source=session, phase=phase, limit=LIMIT)
    return msgspec.structs.replace(found, stint=stint, passed=passed)


def stints(*drifts: int, prefix: str = "s") -> list[AnyRecord]:
    """One session of one stint for each drift, in um; its before-check off by 1 um."""
    return [
        record
        for number, drift in enumerate(drifts)
        for record in (
            one(f"{prefix}{number}", "before", 1),
            one(f"{prefix}{number}", "after", 1 + drift),
        )
    ]


def test_the_root_mean_square_about_zero_has_a_degree_of_freedom_for_each_stint() -> None:
    found = drift_history(daily(stints(1, -2, 2, 0, 4)))
    assert found is not None
    # (1 + 4 + 4 + 0 + 16) / 5 = 5
    assert found.sd_mm == pytest.approx(math.sqrt(5) / 1000, rel=1e-12)
    assert found.count == 5
    assert found.words == "drift found 5 times in its history, 2026-01-05 to 2026-01-13"


def test_four_stints_are_too_few() -> None:
    assert drift_history(daily(stints(1, -2, 2, 0))) is None
    assert drift_history(daily([])) is None


def test_a_stints_last_passed_check_counts_and_no_other() -> None:
    records = [
        one("a", "before", 9, passed=False),
        one("a", "before", 1),
        one("a", "during", 5),
        one("a", "during", 3),
        one("a", "after", 80, passed=False),
    ]
    found = drift_history(daily([*records, *stints(0, 0, 0, 0)]))
    assert found is not None
    # 3 - 1 = 2 um, and four of 0: 4 / 5
    assert found.sd_mm == pytest.approx(math.sqrt(0.8) / 1000, rel=1e-12)


def test_each_stint_of_a_session_counts_and_one_without_a_later_check_does_not() -> None:
    records = [
        one("a", "before", 1),
        one("a", "after", 2),
        one("a", "before", 1, stint=2),
        one("a", "after", 3, stint=2),
        one("b", "before", 1),
    ]
    found = drift_history(daily([*records, *stints(0, 0, 0)]))
    assert found is not None
    # 1 and 2 um, and three of 0: (1 + 4) / 5
    assert found.count == 5
    assert found.sd_mm == pytest.approx(0.001, rel=1e-12)


def test_checks_outside_sessions_do_not_count() -> None:
    proven: Sequence[AnyRecord] = [one("prove", "prove", um) for um in (1, 30, 2, 40)]
    assert drift_history(daily([*proven, *stints(0, 0, 0, 0)])) is None


def test_what_was_before_an_adjustment_does_not_count() -> None:
    old, new = stints(50, 50, 50, 50, 50, prefix="old"), stints(1, 1, 1, 1, 1)
    found = drift_history(daily([*old, adjusted(), *new]))
    assert found is not None
    assert found.count == 5
    assert found.sd_mm == pytest.approx(0.001, rel=1e-12)
    assert drift_history(daily([*old, adjusted(), *new[:-1]])) is None


def test_a_stint_that_an_adjustment_cut_does_not_count() -> None:
    cut: list[AnyRecord] = [one("x", "before", 1), adjusted(), one("x", "after", 60)]
    found = drift_history(daily([*cut, *stints(1, 1, 1, 1, 1)]))
    assert found is not None
    assert found.count == 5


@given(st.lists(st.integers(-40, 40), min_size=5, max_size=12))
def test_a_drift_up_is_as_far_as_one_down(drifts: list[int]) -> None:
    up, down = (
        drift_history(daily(stints(*drifts))),
        drift_history(daily(stints(*(-drift for drift in drifts)))),
    )
    assert up is not None
    assert down is not None
    assert up.sd_mm == down.sd_mm
