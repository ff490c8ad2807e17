"""Mistakes about scatter where a session's budget rests on it: lost digits, n for n - 1, averages.

The same mistakes are held off for the general functions beside those.
"""

import math
from decimal import Decimal
from pathlib import Path

import msgspec
import pytest

from daq.evaluation.diameter import components
from daq.evaluation.inputs import check_scatter, diameter_inputs
from daq.record.standing import squares_of
from daq.rules.commands import CheckNow
from tests.builders import ONE, Bench, opened


def test_scatter_keeps_its_digits_where_one_pass_over_the_squares_loses_them() -> None:
    # NIST StRD NumAcc3 and NumAcc4, certified: sd 0.1 about a million and ten millions
    for whole in (1_000_000, 10_000_000):
        values = [Decimal(whole) + Decimal(part) for part in ("0.2", *("0.1", "0.3") * 500)]
        found = squares_of(values)
        assert math.sqrt(found.total / found.dof) == pytest.approx(0.1, rel=1e-12)
        floats = [float(value) for value in values]
        one_pass = sum(x * x for x in floats) - sum(floats) ** 2 / len(floats)
        assert abs(one_pass / found.dof - 0.01) > 0.0004  # the mistake is far off, or negative


def test_readings_that_agree_to_a_tenth_of_a_micrometre_still_show_their_scatter() -> None:
    # by hand: 59.98 and 0, 1, 2 tenths: 0.01 + 0 + 0.01 = 0.02 um^2 about their mean
    for far in (Decimal("59.98"), Decimal("499.98")):
        found = squares_of([far + Decimal(n) / 10_000 for n in range(3)])
        assert found.total == pytest.approx(0.02e-6, rel=1e-12)
        assert found.dof == 2


def test_scatter_is_divided_by_n_less_one() -> None:
    # NIST/SEMATECH e-Handbook 6.3.2.2, data; derived: 2.03385 by n - 1, 1.92948 by n
    text = "49.6 47.6 49.9 51.3 47.8 51.2 52.6 52.4 53.6 52.1"
    found = squares_of([Decimal(value) for value in text.split()])
    assert found.dof == 9
    assert math.sqrt(found.total / found.dof) == pytest.approx(2.03385, abs=5e-6)


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
    found = check_scatter(bench.state, 1)
    assert found.sd_mm == pytest.approx(0.001 * math.sqrt(2.5 / 3), rel=1e-12)
    assert found.dof == 3
    averaged = 0.001 * (math.sqrt(2) + math.sqrt(0.5)) / 3
    assert found.sd_mm > 1.2 * averaged
