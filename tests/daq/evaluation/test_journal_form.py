"""Form by places: when one oval is fitted and when ranges count, and how well each is known.

Lengths in um over 59.900 where not said. Where nothing else is said a place is known to 0.4 um with
8 degrees of freedom: t(0.95, 8) = 1.8595.
"""

import math
from collections.abc import Mapping
from decimal import Decimal

import msgspec
import pytest

from daq.evaluation.conditions import Checks, Conditions
from daq.evaluation.journal_form import FormValue, JournalForm, form_budget, form_of_places
from daq.lengths import parse_length
from daq.metrology.form import TaperLimit
from tests.estimate_builders import UM, checks, conditions, places_in, scatter

K = 1.8595
S = conditions(s=scatter("0.4", 8), around=checks(readings=5))
FOUR = (0, 45, 90, 135)


def shown(um: float) -> str:
    return f"{Decimal('59.900') + Decimal(str(um)) / 1000}"


def form(
    rows: Mapping[str, Mapping[int, float]] | Mapping[str, Mapping[int, str]],
    about: Conditions | Mapping[str, Conditions] = S,
    allowed: TaperLimit | None = None,
    confidence: float = 0.95,
) -> JournalForm:
    table = {
        station: {angle: um if isinstance(um, str) else shown(um) for angle, um in row.items()}
        for station, row in rows.items()
    }
    return form_of_places(places_in(table, about), allowed, confidence)


def row(*um: float, angles: tuple[int, ...] = FOUR) -> dict[int, float]:
    return dict(zip(angles, um, strict=True))


def mm(value: FormValue | None) -> float:
    """A value in um."""
    assert value is not None
    return float(value.value_mm) * 1000


def u(value: FormValue | None, confidence: float = 0.95) -> float:
    """Its standard uncertainty in um."""
    assert value is not None
    return form_budget(value, confidence).combined * 1000


# --- one oval for all stations ---

ALIKE = {"front": row(74, 76, 75, 73), "rear": row(73, 75, 75, 73)}
"""a = -0.75, b = 1.25, RSS 0.5: see the test of the fit."""


def test_where_the_ends_agree_out_of_round_and_taper_are_the_fits() -> None:
    found = form(ALIKE)
    assert found.by == "fit"
    assert mm(found.out_of_round) == pytest.approx(2.9155, abs=5e-5)
    assert mm(found.taper) == pytest.approx(0.5, abs=1e-9)
    assert found.out_of_round is not None
    assert found.taper is not None
    assert (found.out_of_round.at, found.taper.at) == ("", "front;rear")
    # 2 * 0.4 sqrt(2 / 8) and 0.4 sqrt(2 / 4), each times 1.8595
    assert (u(found.out_of_round), u(found.taper)) == pytest.approx((0.4, 0.2828), abs=1e-4)
    assert found.out_of_round.guard_mm == Decimal("0.00075")
    assert found.taper.guard_mm == Decimal("0.00053")


def residuals(um: float) -> dict[str, dict[int, float]]:
    """Two ends whose only difference from one oval is +-um: RSS = 8 um**2."""
    return {"front": row(um, -um, um, -um), "rear": row(um, -um, um, -um)}


def test_the_ends_agree_up_to_the_quantile_of_f_and_not_beyond() -> None:
    # In front and rear alike, + - + - is no oval: it all stays in RSS = 8 r**2. With 8 - 2 - 2 = 4
    # and 8 degrees of freedom F(0.70) = 1.4599 (tables: 1.46): RSS up to 4 * 0.16 * 1.4599 =
    # 0.93434, so r up to 0.34175.
    assert form(residuals(0.3417)).by == "fit"
    assert form(residuals(0.3418)).by == "range"


def test_where_the_step_rules_it_is_held_against_chi_squared() -> None:
    # u = 0.288675, no limit of freedom: chi2(0.70, 4) / 4 = 4.8784 / 4; RSS up to 4.8784 / 12, so
    # r up to sqrt(0.40654 / 8) = 0.22543
    about = conditions()
    assert form(residuals(0.2254), about).by == "fit"
    assert form(residuals(0.2255), about).by == "range"


@pytest.mark.parametrize(
    "rows",
    [
        {"front": row(74, 76, 75, 73)},  # one station
        {
            "front": row(74, 75, 73, angles=(0, 60, 120)),
            "rear": row(74, 75, 73, angles=(0, 60, 120)),
        },
        {"front": row(74, 76, 75, 73), "rear": row(74, 76, 75, angles=(0, 45, 90))},
    ],
)
def test_one_station_or_fewer_than_four_angles_at_one_are_not_fitted_together(
    rows: dict[str, dict[int, float]],
) -> None:
    assert form(rows).by == "range"


def test_four_angles_too_near_to_each_other_see_no_oval() -> None:
    narrow = (0, 10, 20, 30)
    found = form({end: row(74, 74, 74, 74, angles=narrow) for end in ("front", "rear")})
    assert (found.by, found.oval) == ("range", None)


def test_two_stints_share_no_oval() -> None:
    other = msgspec.structs.replace(S, stint=2)
    assert form(ALIKE, {"front": S, "rear": other}).by == "range"


def test_two_brackets_of_one_stint_do_and_the_worse_known_place_counts() -> None:
    worse = conditions(s=scatter("0.6", 3))
    found = form(ALIKE, {"front": S, "rear": worse})
    assert found.by == "fit"
    assert u(found.out_of_round) == pytest.approx(0.6)
    assert found.out_of_round is not None
    # t(0.95, 3) = 2.3534: 1.412
    assert found.out_of_round.guard_mm == Decimal("0.00142")


def test_the_place_with_the_fewest_repeats_says_how_well_all_are_known() -> None:
    s = conditions(s=scatter("0.8", 8))
    rows = {
        end: {angle: f"{shown(um)} {shown(um)}" for angle, um in values.items()}
        for end, values in ALIKE.items()
    }
    twice = form(rows, s)
    assert u(twice.out_of_round) == pytest.approx(0.8 / math.sqrt(2))
    rows["rear"][135] = shown(ALIKE["rear"][135])
    once = form(rows, s)
    assert u(once.out_of_round) == pytest.approx(0.8)
    assert mm(once.out_of_round) == pytest.approx(mm(twice.out_of_round)), "means are unweighted"


def test_unequal_angles_go_by_the_covariances_of_the_fit() -> None:
    # A fifth angle at the front: less its means, cos and sin of 0 90 180 270 36 degrees.
    rows = {"front": row(74, 76, 75, 73, 75, angles=(*FOUR, 18)), "rear": row(73, 75, 75, 73)}
    found = form(rows)
    assert found.by == "fit"
    # over the front's five: means cos 0.16180, sin 0.11756; sums cc 2 + 0.65451 - 5 * 0.02618 =
    # 2.52361, ss 2 + 0.34549 - 5 * 0.01382 = 2.27639, cs 0.47553 - 5 * 0.01902 = 0.38042; with the
    # rear's 2 and 2: [[4.52361, 0.38042], [0.38042, 4.27639]], smallest eigenvalue 4.0000
    assert u(found.out_of_round) == pytest.approx(2 * 0.4 / math.sqrt(4.0), abs=1e-4)


def test_three_stations_have_the_largest_difference_of_their_means_as_taper() -> None:
    found = form(
        {
            "front": row(70, 70, 70, 70),
            "middle": row(73, 73, 73, 73),
            "rear": row(71, 71, 71, 71),
        }
    )
    assert found.by == "fit"
    assert found.taper is not None
    assert (round(mm(found.taper), 9), found.taper.at) == (3.0, "front;middle")


# --- ranges ---


def test_ranges_are_over_angles_and_over_stations_at_one_angle() -> None:
    # front 80 - 70 = 10, rear 82 - 71 = 11; at 0: 80 - 71 = 9, at 90: 82 - 70 = 12
    found = form({"front": {0: 80, 90: 70}, "rear": {0: 71, 90: 82}})
    assert found.by == "range"
    assert found.out_of_round is not None
    assert found.taper is not None
    assert (mm(found.out_of_round), found.out_of_round.at) == (11.0, "rear")
    assert (mm(found.taper), found.taper.at) == (12.0, "90")
    # sqrt(2) 0.4
    assert u(found.out_of_round) == u(found.taper) == pytest.approx(0.56569, abs=1e-5)
    assert found.taper.guard_mm == Decimal("0.00106")  # 1.0519


@pytest.mark.parametrize(
    ("angles", "um", "by_oval"),
    [
        # a = (2 * 74 - 76 - 72) / 3 = 0, b = (76 - 72) / sqrt(3) = 2.309: 4.619 over a range of 4
        ((0, 60, 120), (74.0, 76.0, 72.0), 4.6188),
        # a = 1, b = 2: 2 sqrt(5) = 4.472 over a range of 4
        ((0, 45, 90, 135), (75.0, 76.0, 73.0, 72.0), 4.4721),
        # the same three at 0, 45, 90: a = 1, b = 2 as well, but these angles see too little of it
        ((0, 45, 90), (75.0, 76.0, 73.0), None),
        # two see nothing
        ((0, 90), (75.0, 73.0), None),
    ],
)
def test_an_oval_of_one_station_counts_where_it_is_larger_and_its_angles_see_enough(
    angles: tuple[int, ...], um: tuple[float, ...], by_oval: float | None
) -> None:
    found = form({"front": row(*um, angles=angles)})
    assert found.by == "range"
    assert (found.oval is None) is (by_oval is None)
    if by_oval is None:
        assert mm(found.out_of_round) == pytest.approx(max(um) - min(um))
        assert u(found.out_of_round) == pytest.approx(0.4 * math.sqrt(2))
    else:
        assert mm(found.out_of_round) == pytest.approx(by_oval, abs=5e-5)
        # with its own uncertainty: 2 sqrt(2 / n) of a place's
        assert u(found.out_of_round) == pytest.approx(0.4 * 2 * math.sqrt(2 / len(um)))


def test_an_oval_that_is_no_larger_than_the_range_but_for_noise_is_not_the_value() -> None:
    # b = 1.5, a = 0: 3 by the oval, 3 by the range; its uncertainty is that of a difference
    found = form({"front": row(74, 75.5, 74, 72.5)})
    assert mm(found.out_of_round) == 3.0
    assert found.out_of_round is not None
    assert found.out_of_round.at == "front"
    assert found.oval is not None
    assert float(found.oval.ovality_mm) * 1000 == pytest.approx(3.0)


def test_an_oval_counts_where_it_exceeds_the_range_by_more_than_a_millionth_of_a_um() -> None:
    # b = 1.5; a of 0.00120 makes 2 sqrt(a**2 + b**2) larger by a**2 / 1.5 = 0.96e-6, of 0.00125 by
    # 1.04e-6 um
    for first, is_more in ((74.0024, False), (74.0025, True)):
        found = form({"front": row(first, 75.5, 74, 72.5)})
        assert (mm(found.out_of_round) > 3.0) is is_more


def test_without_places_enough_there_is_no_value() -> None:
    one = form({"front": {0: 70}})
    assert (one.by, one.out_of_round, one.taper, one.share_seen) == ("", None, None, None)
    assert (one.angles_deg, one.stations, one.is_blind) == ((0,), 1, False)
    ends = form({"front": {0: 70}, "rear": {0: 75}})
    assert (ends.by, ends.out_of_round, mm(ends.taper)) == ("range", None, 5.0)
    assert form({}).by == ""


def test_two_angles_see_no_oval_for_certain_three_and_more_do() -> None:
    assert form({"front": {0: 70, 90: 70}}).is_blind
    assert not form({"front": row(70, 70, 70, angles=(0, 60, 120))}).is_blind
    assert not form({"front": row(70, 70, 70, angles=(0, 45, 90))}).is_blind


# --- two stints ---


def test_between_two_stints_each_reading_brings_all_that_its_size_is_uncertain_by() -> None:
    # One: place and check one component, 0.9 sqrt(1 + 1/4) = 1.00623 with 8; stack 0.5; drift 0.2.
    # Other: the same with drift 1.0. u**2 = 2 * (1.0125 + 0.25) + 0.04 + 1 = 3.565
    s = scatter("0.9", 8)
    near = conditions(s=s, stack_u_um=0.5, around=checks("0", "0.4", readings=4))
    far = conditions(s=s, stack_u_um=0.5, around=checks("0", "2", readings=4), stint=2)
    found = form({"front": {0: 80.2}, "rear": {0: 76.0}}, {"front": near, "rear": far})
    assert mm(found.taper) == pytest.approx((80.2 - 0.2) - (76.0 - 1.0))
    assert u(found.taper) == pytest.approx(math.sqrt(3.565))
    assert found.taper is not None
    # 3.565**2 / (2 * 1.0125**2 / 8) = 49.6
    assert form_budget(found.taper, 0.95).dof == 49


def test_within_a_stint_what_both_share_cancels() -> None:
    s = scatter("0.9", 8)
    about = conditions(s=s, stack_u_um=0.5, around=checks("0", "0.4", readings=4))
    found = form({"front": {0: 80.2}, "rear": {0: 76.0}}, about)
    assert u(found.taper) == pytest.approx(0.9 * math.sqrt(2))


def test_an_oval_through_places_of_two_stints_takes_no_part() -> None:
    table = {"front": row(75, 76, 73, 72)}
    places = list(places_in({"front": {a: shown(um) for a, um in table["front"].items()}}, S))
    other = msgspec.structs.replace(S, stint=2)
    places[3] = msgspec.structs.replace(places[3], about=other)
    found = form_of_places(places, None, 0.95)
    assert found.oval is None
    assert mm(found.out_of_round) == pytest.approx(4.0)


# --- what the gauge moved ---


def moved(means_um: tuple[float, ...], readings: int = 5) -> Conditions:
    """A stint whose checks found these errors, in um."""
    means = tuple(UM * int(10 * mean) / 10 for mean in means_um)
    around = Checks(
        error_mm=(means[0] + means[-1]) / 2,
        moved_mm=abs(means[-1] - means[0]),
        readings=readings,
        max_drift_mm=Decimal("0.003"),
        stint_means_mm=means,
    )
    return conditions(s=scatter("0.4", 8), around=around)


@pytest.mark.parametrize(
    ("means", "drift"),
    [
        ((0.0, 0.5), 0.0),
        # u(d) = sqrt(2) 0.288675 = 0.40825: twice that is 0.8165
        ((0.0, 0.8), 0.0),
        ((0.0, 0.9), 0.45),
        ((0.9, 0.0), 0.45),
        ((0.0, 2.0, 0.1), 1.0),  # the largest difference, not that of the ends
    ],
)
@pytest.mark.parametrize("rows", [ALIKE, {"front": {0: 70, 90: 80}, "rear": {0: 71, 90: 79}}])
def test_a_move_that_the_checks_scatter_does_not_explain_adds_half_of_it(
    means: tuple[float, ...], drift: float, rows: dict[str, dict[int, float]]
) -> None:
    found, still = form(rows, moved(means)), form(rows, moved((0.0, 0.0)))
    assert found.by == still.by
    for one, other in ((found.out_of_round, still.out_of_round), (found.taper, still.taper)):
        assert u(one) ** 2 - u(other) ** 2 == pytest.approx(drift**2, abs=1e-9)
        assert one is not None
        assert form_budget(one, 0.95).k == pytest.approx(K, abs=1e-4), "k stays"


# --- a limit of taper per length ---

PER_25 = TaperLimit(
    parse_length("0.0025 mm"),
    parse_length("25.4 mm"),
    {"front": Decimal(0), "middle": Decimal("12.7"), "rear": Decimal("50.8")},
)
THREE_ENDS = {
    "front": row(70, 70, 70, 70),
    "middle": row(72, 72, 72, 72),
    "rear": row(73, 73, 73, 73),
}


def test_every_pair_of_fitted_means_is_held_against_its_own_limit() -> None:
    found = form(THREE_ENDS, S, PER_25)
    assert found.by == "fit"
    assert [(value.at, round(mm(value), 6), limit) for value, limit in found.tapers] == [
        ("front;middle", 2.0, Decimal("0.00125")),
        ("front;rear", 3.0, Decimal("0.005")),
        ("middle;rear", 1.0, Decimal("0.00375")),
    ]


def test_every_pair_of_places_is_where_ranges_count() -> None:
    found = form({end: {0: values[0]} for end, values in THREE_ENDS.items()}, S, PER_25)
    assert found.by == "range"
    assert [(value.at, mm(value), limit) for value, limit in found.tapers] == [
        ("0 between middle and front", 2.0, Decimal("0.00125")),
        ("0 between rear and front", 3.0, Decimal("0.005")),
        ("0 between rear and middle", 1.0, Decimal("0.00375")),
    ]


def test_a_limit_per_length_is_rounded_down_to_a_tenth_of_a_nanometre() -> None:
    third = TaperLimit(
        parse_length("0.001 mm"), parse_length("3 mm"), {"front": Decimal(0), "rear": Decimal(10)}
    )
    ((_, limit),) = form({"front": {0: 70}, "rear": {0: 70}}, S, third).tapers
    assert limit == Decimal("0.0033333")


def test_a_limit_on_the_whole_journal_has_one_taper() -> None:
    whole = TaperLimit(parse_length("0.005 mm"))
    found = form(THREE_ENDS, S, whole)
    assert found.tapers == ((found.taper, Decimal("0.005")),)


# --- the direction of wear ---


@pytest.mark.parametrize(("um", "is_significant"), [(0.37, False), (0.38, True)])
def test_an_oval_points_somewhere_only_where_it_is_more_than_scatter_makes(
    um: float, is_significant: bool
) -> None:
    # 2 a against the guard of 1.8595 * 0.4 = 0.744, rounded up 0.75
    rows = {end: row(70 + um, 70, 70 - um, 70) for end in ("front", "rear")}
    found = form(rows)
    assert found.by == "fit"
    assert found.oval is not None
    assert found.oval.is_significant is is_significant
    assert found.oval.direction_deg == pytest.approx(0.0, abs=1e-6)


def test_another_confidence_gives_another_guard() -> None:
    # t(0.99, 8) = 2.8965: 1.1586
    found = form(ALIKE, confidence=0.99)
    assert found.out_of_round is not None
    assert found.out_of_round.guard_mm == Decimal("0.00116")
