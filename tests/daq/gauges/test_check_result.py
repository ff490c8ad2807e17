"""What a check outside a session found: by which limits it is judged."""

import pytest

from daq.equipment.stacks.stack_file import assumed_stack
from daq.gauges.check_result import prove
from daq.gauges.check_rules import CheckWanted
from daq.gauges.history import CheckRecord
from daq.lengths import parse_length
from daq.record.events import Temperatures
from tests.builders import reading


def proven(
    *values: str, max_error: str, max_spread: str | None = None, step: str | None = None
) -> CheckRecord:
    """Readings in steps of 0.001 mm on a stack of 59.970 mm."""
    wanted = CheckWanted(
        assumed_stack(parse_length("59.970 mm")),
        "59.970 mm",
        len(values),
        parse_length(max_error),
        None if max_spread is None else parse_length(max_spread),
        step=None if step is None else parse_length(step),
    )
    readings = tuple(reading(value) for value in values)
    return prove(readings, wanted, Temperatures(), "mic", "usb-1", "").check


@pytest.mark.parametrize(
    ("max_error", "max_spread", "limit", "passed"),
    [
        # Spread 59.972 - 59.969 = 0.003, three steps of 0.001.
        ("0.002 mm", None, "0.003", True),
        ("0.0001 in", None, "0.003", True),  # 0.00254 mm
        ("0.004 mm", None, "0.004", True),
        ("0.002 mm", "0.002 mm", "0.002", False),
    ],
)
def test_a_spread_left_out_is_the_permitted_error_but_at_least_three_steps(
    max_error: str, max_spread: str | None, limit: str, passed: bool
) -> None:
    check = proven("59.969", "59.972", max_error=max_error, max_spread=max_spread)
    assert (check.max_spread_mm, check.passed) == (limit, passed)


def test_the_permitted_error_is_taken_as_it_is_given() -> None:
    # Mean error +0.0015 mm, under two steps.
    check = proven("59.971", "59.972", max_error="0.001 mm")
    assert (check.max_error_mm, check.passed) == ("0.001", False)


def test_the_step_told_is_kept_and_sets_the_least_spread() -> None:
    check = proven("59.970", "59.980", max_error="0.006 mm", step="0.005 mm")
    assert (check.resolution_mm, check.max_spread_mm, check.passed) == ("0.005", "0.015", True)
