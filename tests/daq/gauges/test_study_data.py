"""A study's readings as a table; what is refused, and that it says which."""

from decimal import Decimal
from pathlib import Path

import msgspec
import pytest

from daq.errors import NoStudy, StudyRefused
from daq.gauges.study_data import gathered
from daq.lengths import Position
from daq.record.events import Temperatures
from daq.record.state import next_position, phase
from daq.rules.commands import Abandon, Later, Skip, StopHere
from tests.builders import Bench, accepted, opened, setup
from tests.daq.gauges.study_builders import accepted_study, press_route, study_plan, telling


def test_every_reading_stands_at_its_part_operator_and_trial(tmp_path: Path) -> None:
    # the route shuffles the parts; the table puts each reading where it belongs
    found = gathered(accepted_study(tmp_path / "s", study_plan(), telling).state)
    assert found.parts == ("P1/middle/0", "P2/middle/0", "P3/middle/0")
    assert (found.operators, found.trials, found.stints) == (("A", "B"), 2, 1)
    assert found.sizes_mm == tuple(
        tuple(
            tuple(
                Decimal(f"59.97{part}") + Decimal(operator * 3 + trial) / 10000 for trial in (1, 2)
            )
            for operator in (0, 1)
        )
        for part in (1, 2, 3)
    )
    assert found.tolerance_mm == Decimal("0.020")
    assert found.step_mm == Decimal("0.001")
    assert found.gauge == "mic-50-75"


def test_a_part_is_a_place_so_that_form_is_no_scatter_of_the_gauge(tmp_path: Path) -> None:
    plan = study_plan(2).replace("angles_deg = [0]", "angles_deg = [0, 90]")
    found = gathered(accepted_study(tmp_path / "s", plan, lambda *_: Decimal("59.980")).state)
    assert found.parts == ("P1/middle/0", "P1/middle/90", "P2/middle/0", "P2/middle/90")


def test_a_study_with_holes_is_refused_and_says_which(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(study_plan()))
    press_route(bench, telling, presses=3)
    hole = next_position(bench.state)  # the fourth of three parts: operator B's first
    assert hole is not None
    bench.say(Skip("dirt"))
    while phase(bench.state) is None:
        bench.press("59.975")
    bench.press("59.970", "59.970")
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == "accepted"
    words = (
        f"has holes: not measured {hole.journal}/middle/0 by operator B, trial 1. Every operator"
    )
    with pytest.raises(StudyRefused, match=words):
        gathered(bench.close().state)


def test_many_holes_are_counted(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(study_plan()))
    press_route(bench, telling, presses=1)
    bench.say(StopHere("the shift ends"))
    bench.press("59.970", "59.970")
    with pytest.raises(StudyRefused, match="and 5 more"):  # 12 - 1 - 6 named
        gathered(bench.close().state)


def test_an_open_study_is_to_be_finished_first(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(study_plan()))
    press_route(bench, telling)
    with pytest.raises(StudyRefused, match=r"still open\. Finish it with `jbridge resume`"):
        gathered(bench.close().state)


@pytest.mark.parametrize("verdict", ["rejected", "abandoned"])
def test_readings_that_are_not_proven_say_nothing_of_the_gauge(
    tmp_path: Path, verdict: str
) -> None:
    bench = Bench.new(tmp_path / "s", opened(study_plan()))
    press_route(bench, telling)
    if verdict == "rejected":
        bench.press("59.975", "59.975")  # 5 um off, 2 are permitted
    else:
        bench.say(Abandon("no time"))
    with pytest.raises(StudyRefused, match=f"is {verdict}"):
        gathered(bench.close().state)


def test_a_session_without_a_study_says_how_to_plan_one(tmp_path: Path) -> None:
    with pytest.raises(NoStudy, match=r"no \[study\]"):
        gathered(accepted(tmp_path / "s").state)


def test_two_gauges_are_no_study(tmp_path: Path) -> None:
    folder = tmp_path / "s"
    bench = Bench.new(folder, opened(study_plan()))
    press_route(bench, telling, presses=6)
    bench.say(Later())
    bench.press("59.970", "59.970").close()
    again = Bench.again(folder, bench.now_us, setup("usb-2", gauge="other"))
    press_route(again, telling)
    again.press("59.970", "59.970").close()
    assert again.state.closed is not None
    assert again.state.closed.verdict == "accepted"
    with pytest.raises(StudyRefused, match=r"2 gauges \(mic-50-75, other\)"):
        gathered(again.state)


def test_one_gauge_on_two_days_is_one_study(tmp_path: Path) -> None:
    folder = tmp_path / "s"
    bench = Bench.new(folder, opened(study_plan()))
    press_route(bench, telling, presses=6)
    bench.say(Later())
    bench.press("59.970", "59.970").close()
    again = Bench.again(folder, bench.now_us + 1)
    press_route(again, telling)
    again.press("59.970", "59.970").close()
    assert gathered(again.state).stints == 2


def test_two_gauges_of_one_name_are_told_apart_by_their_serial_number(tmp_path: Path) -> None:
    folder = tmp_path / "s"
    bench = Bench.new(folder, opened(study_plan()))
    press_route(bench, telling, presses=6)
    bench.say(Later())
    bench.press("59.970", "59.970").close()
    first = setup()
    other = msgspec.structs.replace(
        first, source=msgspec.structs.replace(first.source, serial="B2", device="usb-2")
    )
    again = Bench.again(folder, bench.now_us, other)
    press_route(again, telling)
    again.press("59.970", "59.970").close()
    with pytest.raises(StudyRefused, match="2 gauges"):
        gathered(again.state)


def test_sizes_are_those_at_20_degrees(tmp_path: Path) -> None:
    warm = setup(temperatures=Temperatures(part="22", gauge="20", stack="20"))
    first = opened(study_plan(), with_setup=warm)
    bench = accepted_study(tmp_path / "s", study_plan(), telling, first)
    # steel, 2 K over the gauge: 59.97 mm x 2 x 11.5e-6 /K = 1.38 um too large as read
    read = telling(Position("P1", "middle", 0, 1), 0, 1)
    corrected = gathered(bench.state).sizes_mm[0][0][0]
    assert float(read - corrected) == pytest.approx(0.00138, abs=0.00001)
