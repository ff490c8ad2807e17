"""The step of the gauge that took a reading: told, of its file, or as sent."""

from pathlib import Path

import msgspec
import pytest

from daq.lengths import shortest
from daq.record.state import step_mm
from tests.builders import ONE, Bench, opened, setup

GAUGE = 'schema = 1\nprofile = "p"\nport = "/dev/x"\nresolution = "0.002 mm"\n'


@pytest.mark.parametrize(
    ("step", "gauge_file", "found"),
    [
        (None, None, "0.001"),
        (None, GAUGE, "0.002"),
        ("0.005 mm", GAUGE, "0.005"),
        ("0.0001 in", None, "0.00254"),
    ],
)
def test_what_was_told_for_the_run_goes_before_the_file_and_this_before_the_digits(
    tmp_path: Path, step: str | None, gauge_file: str | None, found: str
) -> None:
    told = msgspec.structs.replace(setup(gauge_file=gauge_file), step=step)
    bench = Bench.new(tmp_path / "s", opened(ONE, with_setup=told))
    if step == "0.0001 in":
        bench.press("2.36100", unit="in", resolution="0.00005")
    else:
        bench.press("59.970")
    state = bench.close().state
    assert shortest(step_mm(state, state.checks[0])) == found


def test_each_run_has_its_own(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970").close()
    told = msgspec.structs.replace(setup(), step="0.005 mm")
    state = Bench.again(bench.folder, bench.now_us, told).press("59.970").close().state
    assert [shortest(step_mm(state, taken)) for taken in state.checks] == ["0.001", "0.005"]
