"""What a gauge cannot decide by a plan, told before anybody measures."""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.plan.decidable import (
    GaugeKnown,
    form_factors,
    oval_factor,
    size_u_mm,
    undecidable,
)
from daq.plan.plan import Plan, parse_plan
from daq.plan.review import Finding

STEP = Decimal("0.001")


def plan(
    more: str = "",
    *,
    head: str = "",
    high: str = "59.990 mm",
    angles: str = "0, 45, 90, 135",
    stations: str = '"front", "rear"',
) -> Plan:
    """Two journals alike; `more` are keys of both."""
    journals = "".join(
        f'[[journal]]\nname = "{name}"\nlow = "59.970 mm"\nhigh = "{high}"\n{more}\n'
        for name in ("M1", "M2")
    )
    places = f"[defaults]\nangles_deg = [{angles}]\nstations = [{stations}]\n"
    return parse_plan(f'schema = 1\npart = "p"\n{head}\n{places}{journals}', "plan.toml")


def found(of: Plan, step: str = "0.001", sd: float | None = None) -> tuple[Finding, ...]:
    return undecidable(of, GaugeKnown(Decimal(step), sd))


# The sums ----------------------------------------------------------------------------------------


def test_scatter_falls_with_readings_and_the_step_does_not() -> None:
    gauge = GaugeKnown(STEP)
    # 0.5 and 0.5 / sqrt(2) um; 0.5 / sqrt(4) = 0.25 is under 1 / sqrt(12) = 0.2887
    assert gauge.mean_u_mm(1) == pytest.approx(0.0005)
    assert gauge.mean_u_mm(2) == pytest.approx(0.000353553, abs=1e-9)
    assert gauge.mean_u_mm(4) == pytest.approx(0.000288675, abs=1e-9)
    # sqrt(0.5^2 + 0.2887^2)
    assert size_u_mm(gauge, 1, 5) == pytest.approx(0.000577350, abs=1e-9)


@pytest.mark.parametrize(
    ("angles", "stations", "factor"),
    [
        # Of N places at even angles 2 * sqrt(2 / N).
        ((0, 45, 90, 135), 1, 2 * (2 / 4) ** 0.5),
        ((0, 45, 90, 135), 2, 1.0),
        ((0, 60, 120), 1, 2 * (2 / 3) ** 0.5),
        # cos 2 theta 1, 0, -1; sin 0, 1, 0: squares about the means 2 and 2/3
        ((0, 45, 90), 1, 2 * 1.5**0.5),
    ],
)
def test_an_oval_is_as_certain_as_its_angles_allow(
    angles: tuple[int, ...], stations: int, factor: float
) -> None:
    assert oval_factor(angles, stations) == pytest.approx(factor, rel=1e-12)


@pytest.mark.parametrize("angles", [(0, 90), (0,), (30, 120)])
def test_a_quarter_turn_shows_no_oval_in_between(angles: tuple[int, ...]) -> None:
    assert oval_factor(angles, 2) is None


@given(st.sets(st.integers(0, 179), min_size=4, max_size=8), st.integers(2, 3))
def test_the_factor_is_that_of_the_least_squares_problem(angles: set[int], stations: int) -> None:
    rows = [
        [*(float(k == n) for k in range(stations)), np.cos(2 * t), np.sin(2 * t)]
        for n in range(stations)
        for t in np.radians(sorted(angles))
    ]
    x = np.array(rows)
    block = np.linalg.inv(x.T @ x)[-2:, -2:]
    expected = 2 * np.sqrt(np.linalg.eigvalsh(block)[-1])
    factor = oval_factor(sorted(angles), stations)
    assert factor is not None
    assert factor == pytest.approx(expected, rel=1e-4)


@pytest.mark.parametrize(
    ("angles", "stations", "factors"),
    [
        ("0, 45, 90, 135", '"front", "rear"', (1.0, 0.5**0.5)),
        ("0, 45, 90, 135", '"front"', (2**0.5, 2**0.5)),
        ("0, 60, 120", '"front", "rear"', (2**0.5, 2**0.5)),
        ("0, 10, 20, 30", '"front", "rear"', (2**0.5, 2**0.5)),  # seen far too unevenly
    ],
)
def test_form_goes_by_the_oval_where_the_places_allow_one_and_else_by_the_range(
    angles: str, stations: str, factors: tuple[float, float]
) -> None:
    journal = plan(angles=angles, stations=stations).journals[0]
    assert form_factors(journal) == pytest.approx(factors, rel=1e-9)


# What is told ------------------------------------------------------------------------------------


def test_what_can_be_decided_is_not_spoken_of() -> None:
    # Four steps are enough: 1.645 * 0.5 um is under 4 um.
    assert found(plan('out_of_round = "0.004 mm"\ntaper = "0.004 mm"')) == ()


def test_a_form_limit_under_four_steps_needs_a_finer_gauge() -> None:
    (one,) = found(plan('out_of_round = "0.003 mm"\ntaper = "0.004 mm"'))
    assert (one.key, one.kind) == ("journal[1].out_of_round", "cannot-be-decided")
    # 0.003 / 4
    assert one.words == (
        "M1, M2: out_of_round = 0.003 mm is under four steps of 0.001 mm, so it stays undecided. "
        "A gauge with a step of at most 0.00075 mm could"
    )


def test_a_taper_per_length_counts_between_the_stations_farthest_apart() -> None:
    # 0.0025 mm per 25.4 mm over 20 mm is 0.001968 mm, under four steps of 0.0005 mm
    text = 'taper = "0.0025 mm"\ntaper_per = "25.4 mm"\nstation_at = ["2 mm", "22 mm"]'
    (one,) = found(plan(text), "0.0005")
    assert "taper = 0.00196 mm is under four steps of 0.0005 mm" in one.words
    assert found(plan(text), "0.0004") == ()


def test_a_gauge_that_scatters_may_do_with_more_readings() -> None:
    # By the range 1.64485 * sqrt(2) * 2 um = 4.652 um, over 4; of two readings 3.290.
    (one,) = found(plan('out_of_round = "0.004 mm"', angles="0, 60, 120"), sd=0.002)
    assert one.words == (
        "M1, M2: out_of_round = 0.004 mm cannot be shown to be kept, not even by a perfect "
        "journal: 0.00465 mm of it are not known. Two readings a place (repeats = 2) or a better "
        "gauge could"
    )


def test_by_the_oval_the_same_gauge_will_do() -> None:
    # Two stations and four angles: 1.64485 * 1.0 * 2 um = 3.29 um.
    assert found(plan('out_of_round = "0.004 mm"'), sd=0.002) == ()


def test_where_ten_readings_do_not_help_a_better_gauge_is_named() -> None:
    # 1.64485 * sqrt(2) * 10 / sqrt(10) um = 7.4 um
    (one,) = found(plan('out_of_round = "0.004 mm"', angles="0, 60, 120"), sd=0.010)
    assert one.words.endswith("A gauge with a finer step that repeats better could")


def test_a_step_over_a_quarter_of_the_tolerance_is_told_with_the_one_that_would_do() -> None:
    (one,) = found(plan(), "0.006")
    assert (one.key, one.kind) == ("journal[1].high", "cannot-be-decided")
    assert "over a quarter of high - low = 0.02 mm, so measure refuses the gauge" in one.words
    assert "at most 0.005 mm could" in one.words


GROUND = '[decision]\nstate = "ground"\n'


def test_a_ground_part_must_keep_clear_of_both_limits() -> None:
    # u = sqrt(8^2 + (8 / sqrt 5)^2) = 8.764 um, times 1.64485 = 14.415 um at each limit: more than
    # 20 um together. Of three readings sqrt(8^2 / 3 + 8^2 / 5) = 5.842 um, 19.22 um together.
    (one,) = found(plan(head=GROUND), sd=0.008)
    assert "a size must keep clear of both limits by 0.01441 mm at the least" in one.words
    assert "Three readings a place (repeats = 3) or a better gauge could" in one.words


def test_a_used_part_must_keep_clear_of_one() -> None:
    assert found(plan(), sd=0.008) == ()
    # 12 / 8 of 14.415 um are 21.6 um.
    (one,) = found(plan(), sd=0.012)
    assert "a size must keep clear of the low limit by 0.02162 mm at the least" in one.words


def test_the_confidence_of_the_plan_counts() -> None:
    # z(0.9999) = 3.719: 3.719 * 8.764 um = 32.6 um
    sure = plan(head="[decision]\nconfidence = 0.9999\n")
    assert [one.key for one in found(sure, sd=0.008)] == ["journal[1].high"]


def test_by_the_limits_alone_only_the_step_counts() -> None:
    simple = plan('out_of_round = "0.004 mm"', head='[decision]\nrule = "simple"\n')
    assert found(simple, sd=0.050) == ()
    assert len(found(plan('out_of_round = "0.003 mm"', head='[decision]\nrule = "simple"\n'))) == 1


def test_a_study_takes_more_trials_and_not_repeats() -> None:
    study = '[study]\noperators = ["A", "B"]\ntrials = 2\n'
    text = plan('out_of_round = "0.004 mm"', angles="0, 60, 120", head=study)
    # 1.64485 * sqrt(2) * 3 / sqrt(2) um = 4.93 um; of three trials 4.03; of four 3.49
    (one,) = found(text, sd=0.003)
    assert "4 readings a place (trials = 4)" in one.words


def test_a_journal_without_a_high_limit_has_no_tolerance_to_decide() -> None:
    text = (
        'schema = 1\npart = "p"\n[check]\nmax_error = "0.004 mm"\nmax_spread = "0.004 mm"\n'
        'max_drift = "0.004 mm"\n[[journal]]\nname = "M1"\nlow = "59.97 mm"\n'
    )
    assert found(parse_plan(text, "x"), "0.006") == ()


def test_unlike_journals_are_told_apart() -> None:
    text = plan('out_of_round = "0.003 mm"').text + (
        '[[journal]]\nname = "R1"\nlow = "49.970 mm"\nhigh = "49.990 mm"\n'
        'out_of_round = "0.002 mm"\n'
    )
    every = found(parse_plan(text, "x"))
    assert [(one.key, one.words.partition(":")[0]) for one in every] == [
        ("journal[1].out_of_round", "M1, M2"),
        ("journal[3].out_of_round", "R1"),
    ]
