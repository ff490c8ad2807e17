"""What no check has proven, or the gauge itself disowns, supports nothing."""

from pathlib import Path

from daq.record.events import Setup, StintBegan, Temperatures
from daq.record.state import Status, fates, status
from tests.builders import ONE, Bench, opened, setup


def test_a_gauge_on_hold_shows_an_old_value_and_is_not_believed(tmp_path: Path) -> None:
    # The shipped pattern bcd-nibbles-xor gives the flag "hold".
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970")
    bench.press("59.980", flags=("hold",))
    assert status(bench.state) is Status.ASKING


def test_a_rejected_session_disposes_of_nothing_by_its_suspect_readings(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE))
    bench.press("59.970", "59.970", "59.980", "59.981", "59.975", "59.975").close()
    assert set(fates(bench.state).values()) == {"tainted"}
    found = bench.state.closed
    assert found is not None
    assert found.verdict == "rejected"
    assert [group.step for group in found.groups] != ["serve-as-is"]


def test_a_temperature_left_out_for_one_run_does_not_hide_a_change(tmp_path: Path) -> None:
    def at(stack_c: str) -> Setup:
        return setup(temperatures=Temperatures("", "", stack_c))

    bench = Bench.new(tmp_path / "s", opened(ONE, with_setup=at("20")))
    bench.press("59.970", "59.970", "59.980").close()
    between = Bench.again(bench.folder, bench.now_us).press("59.970", "59.970").close()
    warm = Bench.again(bench.folder, between.now_us, at("30"))
    assert isinstance(warm.steps[0].entries[-1].event, StintBegan)
