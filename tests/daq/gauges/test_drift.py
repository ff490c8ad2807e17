"""The drift of a gauge: its rate with confidence, told of and never corrected for."""

import math
import random

import pytest

from daq.gauges.drift import Drift, drift_of
from daq.gauges.series import series_of
from tests.daq.gauges.history_builders import DAY_US, FIRST_US, adjusted, at, near

YEAR_DAYS = 365.25


def drifting(
    um_a_year: float, noise_um: float = 0.3, count: int = 30, every_days: int = 10
) -> list[float]:
    """Errors in um, the same ones every time."""
    chance = random.Random(7)
    return [
        0.5 + um_a_year * place * every_days / YEAR_DAYS + chance.gauss(0, noise_um)
        for place in range(count)
    ]


def line_of(errors: list[float], every_days: int = 10, step: str = "0.0001") -> Drift:
    history = at(
        (FIRST_US + place * every_days * DAY_US, near(error, step=step))
        for place, error in enumerate(errors)
    )
    found = drift_of(series_of(history)[0], 0)
    assert found is not None
    return found


def test_rate_and_confidence_agree_with_scipy() -> None:
    from scipy import stats

    errors = drifting(3.0)
    drift = line_of(errors)
    years = [place * 10 / YEAR_DAYS for place in range(len(errors))]
    judge = stats.linregress(years, [error / 1000 for error in errors])
    assert drift.rate_mm == pytest.approx(judge.slope, rel=1e-9)
    t = stats.t.ppf(0.975, len(errors) - 2)
    assert drift.half_width_mm == pytest.approx(t * judge.stderr, rel=1e-9)
    value, half = drift.at(FIRST_US)
    assert value == pytest.approx(judge.intercept, rel=1e-9)
    assert half == pytest.approx(t * judge.intercept_stderr, rel=1e-9)


def test_a_gauge_that_grows_shows_a_rising_error() -> None:
    """Drift = later - earlier: an error that goes from 0 to +3 um in a year drifts by +3 um."""
    assert line_of(drifting(3.0)).rate_mm == pytest.approx(0.003, abs=0.0005)
    assert line_of(drifting(3.0)).is_real
    assert line_of(drifting(-3.0)).rate_mm == pytest.approx(-0.003, abs=0.0005)


def test_scatter_alone_is_not_called_drift() -> None:
    assert not line_of(drifting(0.0)).is_real


def test_errors_that_never_move_are_as_uncertain_as_the_resolution() -> None:
    """Six times the same number: the line is exact and the gauge is not."""
    drift = line_of([0.0] * 6, step="0.001")
    assert drift.rate_mm == 0
    assert drift.sd_mm == pytest.approx(0.001 / math.sqrt(12))
    assert drift.half_width_mm > 0
    assert not drift.is_real


def test_few_checks_or_few_days_give_no_rate() -> None:
    def found(count: int, every_days: float) -> Drift | None:
        moments = (FIRST_US + round(place * every_days * DAY_US) for place in range(count))
        return drift_of(series_of(at((moment, near(0.5)) for moment in moments))[0], 0)

    assert found(4, 10) is None
    assert found(5, 3) is None
    assert found(5, 3.5) is not None


def test_only_what_was_measured_since_the_adjustment_makes_the_line() -> None:
    errors = drifting(3.0)
    entries = [(FIRST_US + place * 10 * DAY_US, near(error)) for place, error in enumerate(errors)]
    moment = FIRST_US + 145 * DAY_US
    history = at(sorted([*entries, (moment, adjusted())], key=lambda entry: entry[0]))
    drift = drift_of(series_of(history)[0], 1)
    assert drift is not None
    assert (drift.count, drift.start_us) == (15, FIRST_US + 150 * DAY_US)


def test_the_crossing_is_that_of_the_bound_not_of_the_line() -> None:
    """A prediction from a line has the line's own uncertainty in it: the bound is there first."""
    drift = line_of(drifting(3.0))
    crossing = drift.crossing_us(0.004)
    assert crossing is not None
    value, half = drift.at(crossing)
    assert value < 0.004
    assert value + half == pytest.approx(0.004, abs=1e-6)
    years = (0.004 - drift.line.intercept) / drift.rate_mm
    assert crossing < drift.start_us + years * YEAR_DAYS * DAY_US


def test_the_line_is_the_less_known_the_further_it_is_drawn_out() -> None:
    drift = line_of(drifting(3.0))
    halves = [drift.at(drift.end_us + years * 365 * DAY_US)[1] for years in (0, 1, 2)]
    assert halves == sorted(halves)
    assert halves[2] > 2 * halves[0]


def test_an_error_that_is_there_already_is_there_at_once_and_a_still_one_never() -> None:
    assert line_of([4.5] * 6).crossing_us(0.004) == line_of([4.5] * 6).end_us
    steady = [0.1 * (place % 2) for place in range(40)]
    assert line_of(steady, every_days=90).crossing_us(0.1) is None


def test_an_error_on_its_way_to_zero_crosses_on_the_other_side() -> None:
    crossing = line_of([2.0 - place / 10 for place in range(20)]).crossing_us(0.004)
    assert crossing is not None
    value, half = line_of([2.0 - place / 10 for place in range(20)]).at(crossing)
    assert value < 0
    assert abs(value) + half == pytest.approx(0.004, abs=1e-6)


def test_where_the_scatter_is_more_than_the_resolutions_the_line_is_taken_as_it_is() -> None:
    drift = line_of(drifting(3.0))
    assert drift.sd_mm == drift.line.s
    assert drift.half_width_mm == pytest.approx(drift.factor * drift.line.u_slope)
    _, u = drift.line.predict(2.0)
    _, half = drift.at(drift.start_us + round(2 * YEAR_DAYS * DAY_US))
    assert half == pytest.approx(drift.factor * u, rel=1e-9)
