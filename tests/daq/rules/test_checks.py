"""The check under way: by which step its limits go, and which gauge is too coarse for the work."""

from pathlib import Path

import pytest

from daq.record.events import CheckJudged
from daq.record.state import Status, status
from daq.rules.commands import CheckNow, Keep, Later
from tests.builders import PLAN, Bench, opened

STACK = ("59.970", "59.970")


def last_judged(bench: Bench) -> CheckJudged:
    return bench.state.judged[-1].event


@pytest.mark.parametrize(
    ("values", "unit", "resolution"),
    [
        # By a step of 0.005 the limits would be 0.010 and 0.015; by 0.0001 in, 0.00508 and 0.00762.
        (("59.970", "59.975"), "mm", "0.005"),
        (("2.3610", "2.3611"), "in", "0.0001"),
    ],
)
def test_a_later_check_keeps_the_limits_of_the_stints_first_reading(
    tmp_path: Path, values: tuple[str, str], unit: str, resolution: str
) -> None:
    bench = Bench.new(tmp_path / "s", opened(PLAN)).press(*STACK)
    # A tenth of 0.020 mm is 0.002 mm, as are two steps of 0.001 mm; three are 0.003.
    assert last_judged(bench).max_error_mm == "0.0020"
    bench.say(CheckNow())
    for value in values:
        bench.press(value, unit=unit, resolution=resolution)
        assert status(bench.state) is Status.ASKING  # unlike the stint's first reading
        bench.say(Keep())
    later = last_judged(bench)
    assert later.phase == "during"
    assert (later.max_error_mm, later.max_spread_mm, later.max_drift_mm) == (
        "0.0020",
        "0.003",
        "0.0020",
    )
    bench.close()


def test_a_before_check_that_failed_leaves_no_step_to_the_next(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(PLAN)).press("59.975", "59.975")
    assert not last_judged(bench).passed  # 0.005 over the stack, permitted 0.002
    bench.press("59.975", "59.975", resolution="0.005")
    assert last_judged(bench).max_error_mm == "0.010"  # at least two steps
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
        max_spread_mm="0.003",
        max_drift_mm="0.0020",
        passed=True,
        reason="mean error -0.0010 mm, spread 0.0020 mm, drift -0.0015 mm",
    )
    bench.close()


def of_tolerance(um: int) -> str:
    """A plan of one journal at 59.970 with so large a tolerance, whose checks are of five."""
    return (
        'schema = 1\npart = "p"\n[check]\nstack = "59.970 mm"\n[defaults]\nstations = ["front"]\n'
        f'[[journal]]\nname = "M1"\nlow = "59.970 mm"\nhigh = "59.{970 + um} mm"\n'
    )


# A tolerance of 0.013 mm and a step of 0.001: a tenth, 0.0013, is under two steps and three.
FIVE = ("59.970", "59.971", "59.970", "59.969", "59.970")


def test_a_sound_gauge_passes_where_a_tenth_of_the_tolerance_is_hardly_over_its_step(
    tmp_path: Path,
) -> None:
    bench = Bench.new(tmp_path / "s", opened(of_tolerance(13))).press(*FIVE)
    found = last_judged(bench)
    assert (found.max_error_mm, found.max_spread_mm, found.max_drift_mm) == (
        "0.002",
        "0.003",
        "0.002",
    )
    assert (found.mean_error_mm, found.spread_mm, found.passed) == ("0.00000", "0.002", True)
    bench.close()


def test_a_run_of_an_earlier_rule_set_keeps_its_limits(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(of_tolerance(13), rules=2)).press(*FIVE)
    found = last_judged(bench)
    assert (found.max_error_mm, found.max_spread_mm, found.max_drift_mm) == ("0.0013",) * 3
    assert not found.passed  # spread 0.002
    bench.close()


def test_each_run_of_a_session_judges_its_checks_by_its_own_rule_set(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(of_tolerance(13), rules=2)).press(*FIVE)
    bench.say(Later())
    bench.close()
    bench = Bench.again(bench.folder, bench.now_us).press(*FIVE)
    assert [one.event.max_spread_mm for one in bench.state.judged] == ["0.0013", "0.003"]
    assert [one.event.passed for one in bench.state.judged] == [False, True]
    bench.close()


@pytest.mark.parametrize(
    ("later", "reason"),
    [
        # Before: mean error +0.002, as much as may be. Later +0.0035, which no before-check may
        # have, is a drift of 0.0015; +0.0045 is one of 0.0025, over 0.002.
        (("59.973", "59.974"), "mean error +0.0035 mm, spread 0.0010 mm, drift +0.0015 mm"),
        (("59.974", "59.975"), "drift +0.0025 mm, permitted 0.0020 mm"),
    ],
)
def test_the_error_is_judged_before_and_later_the_drift_from_there(
    tmp_path: Path, later: tuple[str, str], reason: str
) -> None:
    bench = Bench.new(tmp_path / "s", opened(PLAN)).press("59.972", "59.972")
    assert last_judged(bench).passed
    bench.say(CheckNow())
    bench.press(*later)
    found = last_judged(bench)
    assert (found.phase, found.reason) == ("during", reason)
    assert found.passed is not found.reason.startswith("drift")
    bench.close()


def test_an_earlier_rule_set_judges_the_error_in_every_check(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(PLAN, rules=2)).press("59.972", "59.972")
    bench.say(CheckNow())
    bench.press("59.973", "59.974")
    assert last_judged(bench).reason == "mean error +0.0035 mm, permitted 0.0020 mm"
    assert not last_judged(bench).passed
    bench.close()
