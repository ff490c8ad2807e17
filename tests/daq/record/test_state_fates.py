"""Open, proven, tainted: what a check says of the readings before it, and only of those."""

from pathlib import Path

import pytest

from daq.record.state import Status, fates, status
from daq.rules.commands import Abandon, Back, CheckNow, GaugeZeroed, GiveUp, StopHere
from daq.services.verify import verify
from tests.builders import MINUTE_US, ONE, Bench, opened

THREE = ONE.replace("angles_deg = [0, 90]", "angles_deg = [0, 60, 120]")


def begun(tmp_path: Path) -> Bench:
    """A session of three places, the gauge proven, the first place measured (line 6)."""
    return Bench.new(tmp_path / "s", opened(THREE)).press("59.970", "59.970", "59.980")


def test_a_reading_is_open_until_a_check_speaks(tmp_path: Path) -> None:
    bench = begun(tmp_path)
    assert fates(bench.state) == {6: "open"}
    bench.say(CheckNow())
    bench.press("59.970")
    assert fates(bench.state) == {6: "open"}
    bench.press("59.970").close()
    assert fates(bench.state) == {6: "proven"}


def test_a_failure_never_reaches_back_past_a_passed_check(tmp_path: Path) -> None:
    bench = begun(tmp_path)
    bench.say(CheckNow())  # line 7
    bench.press("59.970", "59.970", "59.981")  # lines 8, 9, judged 10, the second place 11
    bench.say(CheckNow())
    bench.press("59.975", "59.975")  # 0.005 over the stack, permitted 0.002
    assert fates(bench.state) == {6: "proven", 11: "tainted"}
    # A failed check ends its stint, and the tainted place is asked for again in a new one.
    assert bench.state.stint is not None
    assert bench.state.stint.event.stint == 2
    assert status(bench.state) is Status.WAITING
    bench.press("59.970", "59.970", "59.982", "59.983", "59.970", "59.970").close()
    assert set(fates(bench.state).values()) == {"proven"}
    values = [taken.sent.value for taken in bench.state.standing.values()]
    assert sorted(values) == ["59.980", "59.982", "59.983"]
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == "accepted"
    assert verify(bench.folder).faults == ()


def test_a_failed_before_check_is_tried_again_and_taints_nothing(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(THREE)).press("59.975", "59.975")
    assert status(bench.state) is Status.WAITING
    bench.press("59.970", "59.970")
    assert status(bench.state) is Status.MEASURING
    bench.close()


def test_a_rezeroed_gauge_taints_what_was_open(tmp_path: Path) -> None:
    bench = begun(tmp_path)
    bench.say(GaugeZeroed())
    bench.close()
    assert fates(bench.state) == {6: "tainted"}


def test_a_check_that_comes_too_late_taints(tmp_path: Path) -> None:
    bench = begun(tmp_path)
    bench.say(CheckNow())
    bench.now_us += 241 * MINUTE_US  # max_age_min is 240 where the plan says nothing
    bench.press("59.970", "59.970").close()
    assert fates(bench.state) == {6: "tainted"}


def test_a_check_just_in_time_proves(tmp_path: Path) -> None:
    bench = begun(tmp_path)
    passed_us = bench.now_us - 1_000_000  # the before-check, one press earlier
    bench.say(CheckNow())
    bench.now_us = passed_us + 240 * MINUTE_US - 2_000_000
    bench.press("59.970", "59.970").close()  # the second one at 240 min exactly
    assert fates(bench.state) == {6: "proven"}


@pytest.mark.parametrize(
    ("ending", "verdict"), [(Abandon("fell"), "abandoned"), (GiveUp("gone"), "rejected")]
)
def test_a_session_closed_without_its_check_proves_nothing_more(
    tmp_path: Path, ending: Abandon | GiveUp, verdict: str
) -> None:
    bench = begun(tmp_path)
    bench.say(ending)
    bench.close()
    assert fates(bench.state) == {6: "tainted"}
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == verdict


def test_a_tainted_reading_that_was_taken_back_stands_in_nobodys_way(tmp_path: Path) -> None:
    bench = begun(tmp_path)
    bench.say(StopHere("lunch"))
    bench.say(Back())
    bench.press("59.970", "59.970").close()
    assert fates(bench.state) == {}
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == "accepted"
