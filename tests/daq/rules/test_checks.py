"""The check under way: by which step its limits go, and which gauge is too coarse for the work."""

from pathlib import Path

import pytest

from daq.record.events import CheckJudged
from daq.record.state import Status, status
from daq.rules.commands import CheckNow, Keep
from tests.builders import PLAN, Bench, opened

STACK = ("59.970", "59.970")


def last_judged(bench: Bench) -> CheckJudged:
    return bench.state.judged[-1].event


@pytest.mark.parametrize(
    ("values", "unit", "resolution"),
    [
        # By a step of 0.005 the limits would be 0.005; by 0.0001 in, 0.00254.
        (("59.970", "59.975"), "mm", "0.005"),
        (("2.3610", "2.3611"), "in", "0.0001"),
    ],
)
def test_a_later_check_keeps_the_limits_of_the_stints_first_reading(
    tmp_path: Path, values: tuple[str, str], unit: str, resolution: str
) -> None:
    bench = Bench.new(tmp_path / "s", opened(PLAN)).press(*STACK)
    # A tenth of 0.020 mm is 0.002 mm, and more than the step of 0.001 mm.
    assert last_judged(bench).max_error_mm == "0.0020"
    bench.say(CheckNow())
    for value in values:
        bench.press(value, unit=unit, resolution=resolution)
        assert status(bench.state) is Status.ASKING  # unlike the stint's first reading
        bench.say(Keep())
    later = last_judged(bench)
    assert later.phase == "during"
    assert (later.max_error_mm, later.max_spread_mm, later.max_drift_mm) == ("0.0020",) * 3
    bench.close()


def test_a_before_check_that_failed_leaves_no_step_to_the_next(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(PLAN)).press("59.975", "59.975")
    assert not last_judged(bench).passed  # 0.005 over the stack, permitted 0.002
    bench.press("59.975", "59.975", resolution="0.005")
    assert last_judged(bench).max_error_mm == "0.005"  # at least one step
    assert last_judged(bench).passed
    bench.close()


@pytest.mark.parametrize(("resolution", "is_refused"), [("0.005", False), ("0.006", True)])
def test_a_gauge_whose_step_is_over_a_quarter_of_the_tolerance_is_refused(
    tmp_path: Path, resolution: str, is_refused: bool
) -> None:
    # The smallest tolerance of the plan is 0.020 mm; its out-of-round of 0.005 mm is a form limit.
    bench = Bench.new(tmp_path / "s", opened(PLAN)).press("59.970", resolution=resolution)
    closed = bench.state.closed
    assert (closed is not None) is is_refused
    if closed is not None:
        assert closed.verdict == "rejected"
        assert closed.reasons[0].startswith(
            "the gauge is too coarse: its resolution of 0.006 mm is over a quarter of the smallest "
            "tolerance, 0.020 mm / 4 = 0.0050 mm"
        )
    bench.close()


def test_what_a_judgement_records_is_worked_by_hand(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(PLAN)).press("59.971", "59.970", "59.980")
    bench.say(CheckNow())
    bench.press("59.970", "59.968")
    # Errors 0 and -0.002: mean -0.001, spread 0.002. Before: mean 0.0005, so drift -0.0015.
    assert last_judged(bench) == CheckJudged(
        stint=1,
        check_no=2,
        phase="during",
        stack_size_mm="59.970",
        readings=2,
        mean_error_mm="-0.00100",
        spread_mm="0.002",
        drift_mm="-0.00150",
        max_error_mm="0.0020",
        max_spread_mm="0.0020",
        max_drift_mm="0.0020",
        passed=True,
        reason="mean error -0.0010 mm, spread 0.0020 mm, drift -0.0015 mm",
    )
    bench.close()
