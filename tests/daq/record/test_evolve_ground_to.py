"""A session of a ground part: all that follows from its ledger sees the undersize's limits."""

from pathlib import Path

import msgspec
import pytest

from daq.evaluation.verdict import journals
from daq.record.evolve import begin, evolve
from daq.record.state import State, Status, status
from daq.services.verify import verify
from daq.storage.ledger import scan
from tests.builders import Bench, opened, setup

PLAN = """\
schema = 1
part = "crank"
[check]
stack = "59.720 mm"
readings = 2
[defaults]
stations = ["front"]
angles_deg = [0, 90]
[[group]]
name = "mains"
[[group.undersize]]
name = "0.25"
by = "0.25 mm"
low = "59.720 mm"
high = "59.740 mm"
[[journal]]
name = "M1"
group = "mains"
low = "59.970 mm"
high = "59.990 mm"
"""
GROUND = msgspec.structs.replace(setup(), ground_to=("mains=0.25",))


def limits(state: State) -> list[tuple[str, str, bool]]:
    return [
        (str(journal.limits.low), str(journal.limits.high), journal.is_ground)
        for journal in (*state.plan.journals, *state.scope.journals.values())
    ]


def test_its_ledger_replays_to_the_same_state(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(PLAN, with_setup=GROUND))
    bench.press("59.720", "59.721", "59.730", "59.731").close()
    assert limits(bench.state) == [("59.720 mm", "59.740 mm", True)] * 2
    first, *rest = scan(bench.folder).entries
    state = begin(first, bench.state.plan.source)
    for entry in rest:
        state = evolve(state, entry)
    assert state == bench.state


def test_its_journals_are_judged_by_the_limits_of_the_undersize(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(PLAN, with_setup=GROUND))
    bench.press("59.720", "59.720", "59.730", "59.731", "59.720", "59.720").close()
    assert bench.state.closed is not None
    (found,) = bench.state.closed.journals
    assert (found.low_limit_mm, found.high_limit_mm) == ("59.720", "59.740")
    # 59.730 - 59.720
    assert found.margin_to_low_mm == "0.01000"
    assert verify(bench.folder).faults == ()


@pytest.mark.parametrize(("value", "is_held"), [("59.220", False), ("59.219", True)])
def test_a_reading_is_believed_near_the_limits_of_the_undersize(
    tmp_path: Path, value: str, is_held: bool
) -> None:
    # The window reaches 0.5 mm under 59.720, so far as to 59.220; of the standard size 59.470.
    bench = Bench.new(tmp_path / "s", opened(PLAN, with_setup=GROUND))
    bench.press("59.720", "59.720", value)
    assert (status(bench.state) is Status.ASKING) is is_held
    bench.close()


def test_a_later_run_goes_by_the_same_limits_whatever_it_says(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(PLAN, with_setup=GROUND))
    bench.press("59.720", "59.720", "59.730").close()
    again = Bench.again(bench.folder, bench.now_us).press("59.720", "59.720").close()
    assert limits(again.state) == [("59.720 mm", "59.740 mm", True)] * 2
    assert [one.low_limit_mm for one in journals(again.state)] == ["59.720"]


def test_a_name_that_the_recorded_plan_lacks_leaves_the_plans_limits(tmp_path: Path) -> None:
    told = msgspec.structs.replace(setup(), ground_to=("0.75",))
    bench = Bench.new(tmp_path / "s", opened(PLAN, with_setup=told)).close()
    assert limits(bench.state) == [("59.970 mm", "59.990 mm", False)] * 2
