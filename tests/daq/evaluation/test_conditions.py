"""A reading's uncertainty by its conditions: each maximum, each line by itself."""

import math
from decimal import Decimal
from fractions import Fraction

import msgspec
import pytest

from daq.evaluation.conditions import (
    Conditions,
    HistoryDrift,
    drift_u,
    of_check,
    of_place,
    screw_u,
    size_budget,
    size_components,
    step_between,
)
from daq.metrology.expansion import MATERIALS
from tests.estimate_builders import UM, checks, conditions, scatter

STEP = Decimal("0.001")
STEP_U = 0.001 / math.sqrt(12)
Y = Fraction("59.980")


def lines(about: Conditions, count: int = 1, y_mm: Fraction = Y) -> dict[str, float]:
    """The lines of a size's budget in um, by name, but that of a stack known exactly."""
    return {
        part.name: part.contribution_mm * 1000
        for part in size_components(about, y_mm, count)
        if part.name != "stack" or about.stack_u_mm
    }


# --- the estimate ---


def test_the_estimate_is_what_was_read_less_the_mean_error_of_both_checks() -> None:
    about = conditions(around=checks("0.4", "0.8"))
    assert about.estimate(Fraction("59.973")) == Fraction("59.9724")


def test_while_no_check_closes_it_the_error_is_that_of_the_last_one() -> None:
    about = conditions(around=checks("0.4", None))
    assert about.estimate(Fraction("59.973")) == Fraction("59.9726")
    assert about.is_provisional
    assert not conditions(around=checks("0.4", "0.4")).is_provisional


def test_the_error_is_taken_off_before_the_temperature_is_corrected() -> None:
    about = msgspec.structs.replace(
        conditions(around=checks("2", "2")), ratio=Fraction("1.0000345")
    )
    assert about.estimate(Fraction("59.971")) == Fraction("59.969") * Fraction("1.0000345")


# --- scatter or step, whichever is more ---


def test_the_check_with_fewer_readings_counts() -> None:
    about = conditions(around=checks(readings=4), s=scatter("0.8"))
    assert of_check(about).u_mm == pytest.approx(0.0004)
    assert of_place(about, 1).u_mm == pytest.approx(0.0008)


def test_two_checks_are_no_better_than_one() -> None:
    closed = conditions(around=checks("0", "0", readings=4), s=scatter("0.8"))
    still_open = conditions(around=checks("0", None, readings=4), s=scatter("0.8"))
    assert of_check(closed) == of_check(still_open)


# --- one component or two ---


def test_one_deviation_that_rules_place_and_check_is_one_component() -> None:
    # s 0.9 of 5 degrees: 0.9 sqrt(1/1 + 1/4); its freedom counts once
    about = conditions(around=checks(readings=4), s=scatter("0.9", 5))
    assert lines(about) == pytest.approx(
        {"repeatability, part and stack": 0.9 * math.sqrt(1.25), "drift between checks": 0.0}
    )
    budget = size_budget(about, Y, 1, 0.95)
    assert budget.dof == 5
    assert budget.k == pytest.approx(2.0150, abs=1e-4)


def test_where_the_step_rules_the_check_they_are_two() -> None:
    about = conditions(around=checks(readings=10), s=scatter("0.8", 5))  # 0.8 / sqrt(10) = 0.253
    assert lines(about) == pytest.approx(
        {
            "check repeatability": STEP_U * 1000,
            "reading repeatability": 0.8,
            "drift between checks": 0.0,
        }
    )
    # (0.64 + 0.0833)**2 / (0.64**2 / 5) = 6.386
    assert size_budget(about, Y, 1, 0.95).dof == 6


def test_where_the_part_scatters_more_they_are_two_though_both_are_scatter() -> None:
    about = conditions(around=checks(readings=4), s=scatter("2.0", 3), on_stack=scatter("0.8", 8))
    assert lines(about, 2) == pytest.approx(
        {
            "check repeatability": 0.4,
            "reading repeatability": 2.0 / math.sqrt(2),
            "drift between checks": 0.0,
        }
    )
    # (0.16 + 2)**2 / (0.16**2 / 8 + 2**2 / 3) = 3.49
    assert size_budget(about, Y, 2, 0.95).effective_dof == pytest.approx(3.49, abs=0.01)


def test_what_is_known_without_limit_of_freedom_brings_none() -> None:
    assert size_budget(conditions(), Y, 1, 0.95).k == pytest.approx(1.6448536, abs=1e-7)


# --- drift ---


def test_closed_drift_is_half_of_what_the_gauge_moved() -> None:
    for around in (checks("0.4", "1.6"), checks("1.6", "0.4")):
        assert drift_u(conditions(around=around)) == pytest.approx((0.0006, math.inf))


def test_open_drift_is_the_permitted_one_as_a_rectangle() -> None:
    about = conditions(around=checks("0", None, max_drift="0.003"))
    assert drift_u(about) == pytest.approx((0.003 / math.sqrt(3), math.inf))


def test_open_drift_is_by_the_gauges_history_where_it_has_one() -> None:
    history = HistoryDrift(0.0004, 7.0, "7 stints")
    about = conditions(around=checks("0", None), history=history)
    assert drift_u(about) == (0.0004, 7.0)
    (line,) = [one for one in size_components(about, Y, 1) if one.name == "drift between checks"]
    assert line.note == "provisional: by the gauge's history, 7 stints"
    # (0.4**2 + 2 / 12)**2 / (0.4**4 / 7) = 29.2
    assert size_budget(about, Y, 1, 0.95).dof == 29


def test_once_closed_the_history_counts_no_more() -> None:
    about = conditions(around=checks("0", "0.2"), history=HistoryDrift(0.004, 7.0, "7 stints"))
    assert drift_u(about) == pytest.approx((0.0001, math.inf))


def test_how_far_a_stints_checks_lie_apart() -> None:
    assert step_between([UM, -UM, 3 * UM, 2 * UM]) == 4 * UM
    assert step_between([UM]) == 0
    assert step_between([]) == 0


# --- the screw ---


@pytest.mark.parametrize(
    ("away", "pitch", "share"),
    [
        ("0", "0.5", 0.0),
        ("0.010", "0.5", math.pi / 50),
        ("0.159", "0.5", math.pi * 0.318),
        ("0.160", "0.5", 1.0),  # pi 0.32 = 1.005
        ("1.0", "0.5", 1.0),
        ("0.160", "1.0", math.pi * 0.16),
    ],
)
def test_the_screw_shows_its_permitted_error_as_far_as_a_turn_lets_it(
    away: str, pitch: str, share: float
) -> None:
    u = screw_u(Decimal("0.002"), Decimal(pitch), Fraction(away))
    assert u == pytest.approx(0.002 / math.sqrt(3) * share)


@pytest.mark.parametrize("y", ["59.960", "59.980"])
def test_the_screws_error_goes_by_the_distance_of_the_estimate_from_the_stack(y: str) -> None:
    about = conditions(permitted="0.002", stack="59.970")
    found = lines(about, y_mm=Fraction(y))
    # 0.010 mm either way: 2 / sqrt(3) pi / 50
    assert found["screw between stack and part"] == pytest.approx(0.07255, abs=1e-5)


def test_on_the_stacks_own_size_or_without_a_stated_error_the_screw_has_no_line() -> None:
    name = "screw between stack and part"
    assert name not in lines(conditions(permitted="0.002"), y_mm=Fraction("59.970"))
    assert name not in lines(conditions(permitted=None, stack="59.000"))


def test_the_pitch_is_that_of_the_gauge_file() -> None:
    wide = msgspec.structs.replace(conditions(permitted="0.002"), pitch_mm=Decimal("1.0"))
    half = lines(conditions(permitted="0.002"))["screw between stack and part"]
    assert lines(wide)["screw between stack and part"] == pytest.approx(half / 2)


# --- stack and temperatures ---


def test_stack_and_wringing_are_lines_of_their_own() -> None:
    about = msgspec.structs.replace(
        conditions(stack_u_um=0.7), joints=3, wringing_u_mm=0.00002, stack_note="grade 1"
    )
    found = lines(about)
    assert (found["stack"], found["wringing"]) == pytest.approx((0.7, 0.02))
    assert "wringing" not in lines(conditions(stack_u_um=0.7))


def test_temperatures_that_were_not_given_stay_in_the_budget() -> None:
    unknown = conditions(part_c=None, stack_c=None, limits_k="1")
    steel = MATERIALS["steel"]
    about = msgspec.structs.replace(
        unknown,
        part=steel,
        reference=msgspec.structs.replace(unknown.reference, coefficient=steel),
    )
    assert about.estimate(Fraction("59.973")) == Fraction("59.973")
    found = lines(about)
    # 1 K apart, rectangular: 59.97 * 11.5e-6 / sqrt(3) = 0.398 um
    assert found["part against stack, temperature"] == pytest.approx(
        59970 * float(steel.value) / math.sqrt(3)
    )
    assert "coefficients x temperature" in found, "the product of both too"


def test_a_budget_is_the_root_of_its_lines_squares() -> None:
    about = conditions(
        around=checks("0", "0.8", readings=5), s=scatter("0.5"), stack_u_um=0.3, permitted="0.002"
    )
    budget = size_budget(about, Y, 2, 0.95)
    # stack 0.3, check 0.289 (0.5 / sqrt(5) = 0.22), place 0.354, drift 0.4, screw 0.0726:
    # 0.09 + 0.0833 + 0.125 + 0.16 + 0.0053 = 0.4636
    assert budget.combined * 1000 == pytest.approx(math.sqrt(0.4636), abs=1e-4)
    assert budget.effective_dof == pytest.approx(0.4636**2 / (0.125**2 / 8), rel=1e-3)
