"""Mistakes about scatter where a session's budget rests on it: means for readings, averages.

Lost digits and n for n - 1 are held off beside the sums themselves.
"""

import math
from pathlib import Path

import msgspec
import pytest

from daq.evaluation.earlier.diameter import components
from daq.evaluation.earlier.inputs import diameter_inputs
from daq.rules.commands import CheckNow
from tests.builders import ONE, Bench, opened


def test_the_mean_of_a_check_is_known_better_than_one_reading(tmp_path: Path) -> None:
    # by hand: errors 0 and 2 um twice, s = sqrt(2) um; of the mean of two s / sqrt(2) = 1 um. A
    # reading on the part keeps the whole s: together sqrt(1 + 1/2) s.
    bench = Bench.new(tmp_path / "s", opened(ONE))
    bench.press("59.970", "59.972", "59.980", "59.981", "59.970", "59.972").close()
    state = bench.state
    (about,) = diameter_inputs(state, state.by_journal["M1"])
    (both,) = [part for part in components(about) if part.kind == "A"]
    assert both.contribution_mm == pytest.approx(0.001 * math.sqrt(3), rel=1e-12)
    apart = msgspec.structs.replace(about, is_reading_as_check=False)
    found = {part.name: part.contribution_mm for part in components(apart)}
    assert found["check repeatability"] == pytest.approx(0.001, rel=1e-12)
    assert found["reading repeatability"] == pytest.approx(0.001 * math.sqrt(2), rel=1e-12)


def test_standard_deviations_of_checks_are_pooled_and_never_averaged(tmp_path: Path) -> None:
    # NIST/SEMATECH e-Handbook 2.4.4, rule. By hand: differences of 0, 2 and 1 um, so s^2 = 0, 2 and
    # 0.5 um^2, each of one degree of freedom; pooled sqrt(2.5 / 3) = 0.913 um, averaged 0.707
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970", "59.970", "59.980")
    bench.say(CheckNow())
    bench.press("59.970", "59.972", "59.981", "59.970", "59.971").close()
    (found,) = diameter_inputs(bench.state, bench.state.by_journal["M1"])
    assert found.check_sd_mm == pytest.approx(0.001 * math.sqrt(2.5 / 3), rel=1e-12)
    assert found.check_dof == 3
    averaged = 0.001 * (math.sqrt(2) + math.sqrt(0.5)) / 3
    assert found.check_sd_mm > 1.2 * averaged
