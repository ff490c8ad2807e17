"""Lobes seen between two anvils: shares of an oval, the fitted ellipse, directions."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.lengths import Position
from daq.metrology.ellipse import Ellipse, fit, residual_mm, same_direction, share_seen
from daq.metrology.form import FormFound, form_of
from daq.plan.plan import JournalPlan, parse_plan

# A profile r = R + a cos n(t - f) read across: D = 2R + 2a cos n(t - f) for even n, 2R for odd n;
# so max - min of D is 4a or 0, and max r - min r is 2a in either case (derived).
R, A = 25.0, 0.005
NANO = Decimal("1E-9")
FOUR = (0, 45, 90, 135)
distinct_angles = st.lists(st.integers(0, 179), min_size=2, max_size=12, unique=True).map(
    lambda angles: tuple(sorted(angles))
)


def across(angle_deg: float, lobes: int, phi_deg: float) -> Decimal:
    """The diameter between two anvils, from the profile itself, to 1e-9 mm."""
    t, f = math.radians(angle_deg), math.radians(phi_deg)
    r = R + A * math.cos(lobes * (t - f))
    opposite = R + A * math.cos(lobes * (t + math.pi - f))
    return Decimal(repr(r + opposite)).quantize(NANO)


def plan(angles: tuple[int, ...]) -> JournalPlan:
    text = (
        'schema = 1\npart = "x"\n[check]\nstack = "50 mm"\n[defaults]\nstations = ["front"]\n'
        f"angles_deg = {list(angles)}\n"
        '[[journal]]\nname = "M1"\nlow = "49.99 mm"\nhigh = "50.01 mm"\n'
    )
    return parse_plan(text, "plan.toml").journals[0]


def seen(angles: tuple[int, ...], lobes: int, phi_deg: float) -> FormFound:
    taken = [(Position("M1", "front", a), across(a, lobes, phi_deg)) for a in angles]
    return form_of(taken, plan(angles).repeats, plan(angles).taper_limit)


# Lobes (derived: geometry of the profile) ---------------------------------------------------------

EVERY_DEGREE = tuple(range(180))


@pytest.mark.parametrize("lobes", [2, 4, 6])
def test_even_lobes_show_twice_their_radial_deviation(lobes: int) -> None:
    found = seen(EVERY_DEGREE, lobes, 0.0)
    assert found.out_of_round is not None
    assert float(found.out_of_round.value) == pytest.approx(0.020, abs=2e-9)


@pytest.mark.parametrize("lobes", [3, 5, 7])
def test_odd_lobes_do_not_show_at_all(lobes: int) -> None:
    found = seen(EVERY_DEGREE, lobes, 0.0)
    assert found.out_of_round is not None
    assert float(found.out_of_round.value) == pytest.approx(0.0, abs=2e-9)


# The share of an oval that angles see -------------------------------------------------------------


@pytest.mark.parametrize(
    ("step", "least"),
    [
        (90, 0.0),  # two angles: nothing, if the oval lies at 45 degrees
        (60, 0.7500),  # (1 + cos 60) / 2
        (45, 0.7071),  # cos 45
        (30, 0.8660),  # cos 30
        (20, 0.9698),  # (1 + cos 20) / 2
        (15, 0.9659),  # cos 15
    ],
)
def test_equally_spaced_angles_see_this_share_at_least(step: int, least: float) -> None:
    # derived: even K, cos(180/K); odd K, (1 + cos(180/K)) / 2
    assert share_seen(tuple(range(0, 180, step))) == pytest.approx(least, abs=5e-5)


def test_one_angle_sees_nothing() -> None:
    assert share_seen((17,)) == 0.0


@given(distinct_angles)
def test_the_share_is_the_least_over_all_directions(angles: tuple[int, ...]) -> None:
    # oracle: try directions; none shows less, and one comes near the least
    tried = []
    for direction in range(1800):
        f = math.radians(direction / 10)
        cosines = [math.cos(2 * (math.radians(a) - f)) for a in angles]
        tried.append((max(cosines) - min(cosines)) / 2)
    exact = share_seen(angles)
    assert min(tried) >= exact - 1e-12
    assert min(tried) == pytest.approx(exact, abs=4e-3)  # 0.1 degree steps


@given(distinct_angles, st.integers(0, 179))
def test_turning_all_angles_changes_nothing(angles: tuple[int, ...], turn: int) -> None:
    turned = tuple(sorted((a + turn) % 180 for a in angles))
    assert share_seen(turned) == pytest.approx(share_seen(angles), abs=1e-9)


@given(distinct_angles, st.integers(0, 179))
def test_one_angle_more_never_sees_less(angles: tuple[int, ...], more: int) -> None:
    assert share_seen(tuple(sorted({*angles, more}))) >= share_seen(angles) - 1e-12


def test_the_least_share_over_stations_is_told() -> None:
    taken = [(Position("M1", "front", a), Decimal(50)) for a in FOUR]
    assert form_of(taken, plan(FOUR).repeats, plan(FOUR).taper_limit).ovality_seen == pytest.approx(
        math.cos(math.pi / 4)
    )
    # a second station with two readings so far: they may miss everything there
    taken += [(Position("M1", "rear", a), Decimal(50)) for a in (0, 90)]
    assert form_of(taken, plan(FOUR).repeats, plan(FOUR).taper_limit).ovality_seen == 0.0


# The fitted ellipse -------------------------------------------------------------------------------


@pytest.mark.parametrize("direction", [0.0, 10.0, 22.5, 45.0, 90.0, 123.4, 179.0])
def test_an_oval_is_found_whole_whatever_its_direction(direction: float) -> None:
    found = seen(FOUR, 2, direction)
    assert found.ellipse_mm == pytest.approx(0.020, abs=3e-9)
    assert found.ellipse_deg == pytest.approx(direction, abs=1e-4)
    assert found.ellipse_residual_mm == pytest.approx(0.0, abs=3e-9)
    # while max - min of the four readings shows between 71 % and all of it
    assert found.out_of_round is not None
    assert 0.70 * 0.020 < float(found.out_of_round.value) <= 0.020 + 2e-9


@given(distinct_angles.filter(lambda angles: len(angles) > 3), st.floats(0, 179.9))
def test_any_four_angles_or_more_give_the_same_oval(
    angles: tuple[int, ...], direction: float
) -> None:
    sizes = [across(a, 2, direction) for a in angles]
    found = fit(angles, sizes)
    if found is None:  # angles so near to one another that they leave it open
        assert max(angles) - min(angles) < 20 or max(angles) - min(angles) > 160
        return
    # readings are rounded to 1e-9 mm, and angles close together magnify that
    share = max(share_seen(angles), 1e-9)
    assert found.ovality_mm == pytest.approx(0.020, abs=1e-8 / share**2)


def test_three_angles_are_not_fitted() -> None:
    assert fit((0, 60, 120), [Decimal(50)] * 3) is None


def test_a_fit_by_hand_with_what_is_left_over() -> None:
    # D = 50 + 3, -1, -3, 1 um at 0, 45, 90, 135: a = (3 + 3)/2 = 3, b = (-1 - 1)/2 = -1 um.
    # Fitted: +3, -1, -3, +1: nothing left; ovality 2 sqrt(10) um, at atan2(-1, 3)/2 = 170.78.
    sizes = [Decimal("50.003"), Decimal("49.999"), Decimal("49.997"), Decimal("50.001")]
    found = fit(FOUR, sizes)
    assert found is not None
    assert found.ovality_mm == pytest.approx(2 * math.sqrt(10) / 1000, abs=1e-12)
    assert found.direction_deg == pytest.approx(180 - math.degrees(math.atan(1 / 3)) / 2)
    assert residual_mm(FOUR, sizes, found) == pytest.approx(0.0, abs=1e-12)
    # a four-lobed pattern +1 -1 +1 -1 um is all residual: sqrt(4 x 1 / (4 - 3)) = 2 um
    lobed = [Decimal("50.001"), Decimal("49.999"), Decimal("50.001"), Decimal("49.999")]
    nothing = fit(FOUR, lobed)
    assert nothing is not None
    assert nothing.ovality_mm == pytest.approx(0.0, abs=1e-12)
    assert residual_mm(FOUR, lobed, Ellipse(0.0, 0.0)) == pytest.approx(0.002, abs=1e-12)


def test_the_ellipse_is_that_of_the_most_oval_station() -> None:
    text = (
        'schema = 1\npart = "x"\n[check]\nstack = "50 mm"\n'
        '[[journal]]\nname = "M1"\nlow = "49.99 mm"\nhigh = "50.01 mm"\n'
    )
    both = parse_plan(text, "plan.toml").journals[0]
    taken = [(Position("M1", "front", a), Decimal(50)) for a in FOUR]
    taken += [(Position("M1", "rear", a), across(a, 2, 30.0)) for a in FOUR]
    found = form_of(taken, both.repeats, both.taper_limit)
    assert found.ellipse_mm == pytest.approx(0.020, abs=3e-9)
    assert found.ellipse_deg == pytest.approx(30.0, abs=1e-4)


# Directions ---------------------------------------------------------------------------------------


def test_directions_near_0_and_near_180_are_the_same() -> None:
    mean = same_direction([178.0, 2.0, 0.0], 5.0)
    assert mean is not None
    assert min(mean, 180 - mean) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("directions", [[0.0, 90.0], [10.0, 60.0], [0.0, 60.0, 120.0]])
def test_directions_far_apart_have_no_common_one(directions: list[float]) -> None:
    assert same_direction(directions, 22.5) is None


def test_directions_within_reach_of_their_mean_have_one() -> None:
    assert same_direction([40.0, 50.0, 60.0], 10.5) == pytest.approx(50.0)
    assert same_direction([40.0, 50.0, 60.0], 9.5) is None
