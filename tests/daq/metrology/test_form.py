"""Out-of-round and taper of known shapes, taper per length, ties, and what the remarks say."""

from decimal import Decimal
from fractions import Fraction
from itertools import combinations
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.lengths import Position, mean_text, to_mm
from daq.metrology.form import Form, FormFound, form_of
from daq.plan.plan import JournalPlan, parse_plan

TWO_BY_TWO = {"stations": ["front", "rear"], "angles_deg": [0, 90]}


def journal(**keys: Any) -> JournalPlan:
    """One journal of a plan with these keys."""
    lines = "\n".join(f"{key} = {value!r}".replace("'", '"') for key, value in keys.items())
    text = (
        'schema = 1\npart = "x"\n[check]\nstack = "59.97 mm"\n'
        f'[[journal]]\nname = "M1"\nlow = "59.97 mm"\nhigh = "59.99 mm"\n{lines}\n'
    )
    return parse_plan(text, "plan.toml").journals[0]


def form(plan: JournalPlan, *sizes: str, unit: str = "mm") -> FormFound:
    """The form of sizes given in route order, one for each place and repeat."""
    places = [
        Position("M1", station, angle, repeat)
        for station in plan.stations
        for angle in plan.angles_deg
        for repeat in range(1, plan.repeats + 1)
    ]
    taken = [(place, to_mm(Decimal(size), unit)) for place, size in zip(places, sizes, strict=True)]
    return form_of(taken, plan.repeats, plan.taper_limit)


def values(found: FormFound) -> tuple[str, str, str, str]:
    """Out-of-round, its station, taper, its angle."""
    assert found.out_of_round is not None
    assert found.taper is not None
    return (
        found.out_of_round.text,
        found.out_of_round.at,
        found.taper.text,
        found.taper.at,
    )


def test_taper_is_taken_at_the_same_angle_and_not_of_means_or_over_all() -> None:
    # Readings invented; the definition is workshop practice (specification pages: front against
    # rear, at X and at Y). Front 85 89, rear 89 85: at 0 and at 90 degrees it is 4, yet both
    # stations' means are 2.7487, and largest - smallest over all would be 4 here by chance only.
    found = form(journal(**TWO_BY_TWO), "2.7485", "2.7489", "2.7489", "2.7485", unit="in")
    assert found.taper is not None
    assert found.taper.value == Fraction(to_mm(Decimal("0.0004"), "in"))
    assert found.out_of_round is not None
    assert found.out_of_round.value == Fraction(to_mm(Decimal("0.0004"), "in"))


def test_largest_less_smallest_over_all_is_neither_out_of_round_nor_taper() -> None:
    # front 90 85, rear 84 80: over all 10; per station 5 and 4; per angle 6 and 5
    found = form(journal(**TWO_BY_TWO), "59.990", "59.985", "59.984", "59.980")
    assert values(found) == ("0.005", "front", "0.006", "0")


def test_equal_values_go_to_the_first_on_the_route() -> None:
    # out-of-round 2 at both stations, taper 1 at both angles; rear and 90 are listed first here
    plan = journal(stations=["rear", "front"], angles_deg=[90, 0])
    found = form(plan, "59.982", "59.980", "59.983", "59.981")
    assert values(found) == ("0.002", "rear", "0.001", "90")


def test_repeats_are_averaged_before_the_form_is_taken() -> None:
    # front 0: (80+81)/2 = 80.5, front 90: (80+80)/2 = 80; rear 0: (82+83)/2 = 82.5; rear 90: 81
    plan = journal(**TWO_BY_TWO, repeats=2)
    sizes = ("59.980", "59.981", "59.980", "59.980", "59.982", "59.983", "59.981", "59.981")
    assert values(form(plan, *sizes)) == ("0.00150", "rear", "0.00200", "0")


def test_a_mean_of_three_stays_exact_until_it_prints() -> None:
    # (80+80+81)/3 - 80 = 1/3 um
    plan = journal(stations=["front"], angles_deg=[0, 90], repeats=3)
    found = form(plan, "59.980", "59.980", "59.981", "59.980", "59.980", "59.980")
    assert found.out_of_round is not None
    assert found.out_of_round.value == Fraction(1, 3000)
    assert found.out_of_round.text == mean_text(Fraction(1, 3000)) == "0.00033"


def test_one_repeat_at_a_place_and_two_at_another_are_no_trouble() -> None:
    plan = journal(stations=["front"], angles_deg=[0, 90], repeats=2)
    taken = [
        (Position("M1", "front", 0, 1), Decimal("59.980")),
        (Position("M1", "front", 90, 1), Decimal("59.981")),
        (Position("M1", "front", 90, 2), Decimal("59.982")),
    ]
    found = form_of(taken, plan.repeats, plan.taper_limit)
    assert found.out_of_round is not None
    assert found.out_of_round.value == Fraction(3, 2000)


def test_nothing_measured_has_no_form() -> None:
    found = form_of((), 1, None)
    assert found == FormFound(None, None, None, (), (), ())


# Taper per length ---------------------------------------------------------------------------------

PER_INCH = {"taper": "0.0025 mm", "taper_per": "25.4 mm"}
"""Limit as in US Army TM 5-3805-281-24-2: 0.0025 mm per 25.4 mm."""


def judged(found: FormFound) -> tuple[Form, Decimal]:
    """The taper that is judged, and its limit."""
    assert found.steepest is not None
    return found.steepest


def test_a_limit_per_length_is_for_the_distance_of_the_two_stations() -> None:
    plan = journal(**TWO_BY_TWO, **PER_INCH, station_at=["2 mm", "22 mm"])
    found = form(plan, "59.982", "59.980", "59.980", "59.980")
    # 0.0025 x 20 / 25.4 = 0.001 968 503 9..., rounded down so that it never widens
    steepest, limit_mm = judged(found)
    assert limit_mm == Decimal("0.0019685")
    # absolute, 0.002 would be within 0.0025: comparing one with the other lets it pass
    assert steepest.value == Fraction(2, 1000)
    assert Fraction(limit_mm) < steepest.value < Fraction(Decimal("0.0025"))


def test_without_a_length_the_limit_is_the_limit() -> None:
    found = form(journal(**TWO_BY_TWO, taper="0.005 mm"), "59.982", "59.980", "59.980", "59.980")
    assert found.taper is not None
    assert judged(found) == (found.taper, Decimal("0.005"))


def test_the_steepest_angle_is_judged_not_the_one_with_the_largest_difference() -> None:
    # at 0 degrees 4 um over 40 mm, 0.1 um/mm; at 90 degrees 3 um over 10 mm, 0.3 um/mm
    plan = journal(
        stations=["a", "b", "c"],
        angles_deg=[0, 90],
        **PER_INCH,
        station_at=["0 mm", "10 mm", "40 mm"],
    )
    found = form(plan, "59.984", "59.983", "59.982", "59.980", "59.980", "59.981")
    steepest, limit_mm = judged(found)
    assert (steepest.text, steepest.at) == ("0.003", "90 between a and b")
    # 0.0025 x 10 / 25.4 = 0.000 984 25..., rounded down
    assert limit_mm == Decimal("0.0009842")
    # while the table's taper is that of the definition
    assert found.taper is not None
    assert (found.taper.text, found.taper.at) == ("0.004", "0")


distances = st.lists(st.integers(0, 60), min_size=2, max_size=6, unique=True)


@given(distances, st.data())
def test_no_two_stations_are_steeper_than_those_judged(at: list[int], data: st.DataObject) -> None:
    plan = journal(
        stations=[f"s{place}" for place in at],
        angles_deg=[0],
        **PER_INCH,
        station_at=[f"{place} mm" for place in at],
    )
    steps = data.draw(st.lists(st.integers(0, 9), min_size=len(at), max_size=len(at)))
    steepest, limit_mm = judged(form(plan, *(f"59.98{step}" for step in steps)))
    slopes = [
        abs(Fraction(steps[i] - steps[j], 1000 * (at[i] - at[j])))
        for i, j in combinations(range(len(at)), 2)
    ]
    # value / limit is slope / (0.0025 / 25.4), but for the limit's last digit, 1e-7 of 1e-4 mm
    share = steepest.value / Fraction(limit_mm)
    assert float(share) == pytest.approx(
        float(max(slopes) / Fraction(Decimal("0.0025")) * Fraction(Decimal("25.4"))), rel=2e-3
    )


def test_no_taper_at_all_has_the_limit_of_neighbouring_stations() -> None:
    plan = journal(**TWO_BY_TWO, **PER_INCH, station_at=["2 mm", "22 mm"])
    found = form(plan, *["59.980"] * 4)
    steepest, limit_mm = judged(found)
    assert (steepest.text, limit_mm) == ("0.000", Decimal("0.0019685"))


def test_a_limit_per_length_waits_for_a_second_station() -> None:
    plan = journal(**TWO_BY_TWO, **PER_INCH, station_at=["2 mm", "22 mm"])
    found = form_of(
        [(Position("M1", "front", 0), Decimal("59.980"))], plan.repeats, plan.taper_limit
    )
    assert (found.taper, found.steepest) == (None, None)


def test_distances_in_inches_are_exact() -> None:
    # one inch apart: the limit itself
    plan = journal(**TWO_BY_TWO, **PER_INCH, station_at=["0.1 in", "1.1 in"])
    found = form(plan, "59.982", "59.980", "59.980", "59.980")
    assert judged(found)[1] == Decimal("0.0025")


# Remarks ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("angles", "said"),
    [
        ([0], "one angle only: out-of-round was not measured"),
        ([0, 90], "two angles only: they can miss all of the ovality"),
    ],
)
def test_too_few_angles_are_said(angles: list[int], said: str) -> None:
    plan = journal(stations=["front", "rear"], angles_deg=angles)
    found = form(plan, *["59.98"] * (2 * len(angles)))
    assert found.remarks == (said,)
    assert found.angles == tuple(angles)


def test_four_angles_and_two_stations_need_no_remark() -> None:
    assert form(journal(), *["59.98"] * 8).remarks == ()


def test_one_station_has_no_taper_and_says_so() -> None:
    found = form(journal(stations=["middle"], angles_deg=[0, 45, 90]), *["59.98"] * 3)
    assert found.taper is None
    assert found.remarks == ("fewer than two stations: taper was not measured",)
