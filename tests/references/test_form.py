"""Form from known geometry, and whole crankpins worked by hand against published limits."""

import math
from decimal import Decimal

import pytest

from daq.lengths import EXACT, Limits, Position, parse_length, to_mm
from daq.metrology.form import Form, form_of
from daq.record.results import JournalResult
from tests.estimate_builders import judged_simply
from tests.judged_builders import journal_plan, limits

# A lobed profile r(theta) = R + a cos n(theta - phi), in mm. A micrometer sees the diameter
# D(theta) = r(theta) + r(theta + pi) = 2R + a [cos n(theta - phi) + cos(n(theta - phi) + n pi)]:
# for even n that is 2R + 2a cos n(theta - phi), so max - min = 4a; for odd n the lobes cancel and
# D = 2R everywhere. The radial out-of-roundness, max r - min r, is 2a in either case. (Textbook: a
# diametral method suits only elliptical or even numbers of lobes.)
R, A = 25.0, 0.005
NANO = Decimal("1E-9")


def diameter(theta_deg: float, lobes: int, phi_deg: float = 0.0) -> Decimal:
    """What a two-point gauge would show, to 1e-9 mm."""
    theta, phi = math.radians(theta_deg), math.radians(phi_deg)
    r = R + A * math.cos(lobes * (theta - phi))
    opposite = R + A * math.cos(lobes * (theta + math.pi - phi))
    return Decimal(repr(r + opposite)).quantize(NANO)


def seen(angles_deg: list[float], lobes: int, phi_deg: float = 0.0) -> Form:
    """Two-point out-of-round at one station. Angles are only labels here, so they are numbered:
    eight of them over 180 degrees would not be whole degrees."""
    taken = [
        (Position("M1", "front", number), diameter(angle, lobes, phi_deg))
        for number, angle in enumerate(angles_deg)
    ]
    found = form_of(taken, 1, None)
    assert found.out_of_round is not None
    return found.out_of_round


EVERY_DEGREE = [float(angle) for angle in range(180)]


@pytest.mark.parametrize("lobes", [2, 4, 6])
def test_even_lobes_show_twice_their_radial_out_of_roundness(lobes: int) -> None:
    # 4a = 0.020, while max r - min r = 2a = 0.010; both extremes lie on whole degrees
    assert float(seen(EVERY_DEGREE, lobes).value) == pytest.approx(0.020, abs=2e-9)


@pytest.mark.parametrize("lobes", [3, 5, 7])
def test_odd_lobes_are_invisible_to_two_points(lobes: int) -> None:
    # max r - min r = 2a = 0.010, and yet every diameter is 2R
    assert float(seen(EVERY_DEGREE, lobes).value) == pytest.approx(0.0, abs=2e-9)


def test_180_degrees_on_is_the_same_diameter() -> None:
    for lobes in (2, 3, 5):
        assert diameter(17, lobes) == diameter(197, lobes)


# K angles equally spaced over 180 degrees on a pure ellipse, 2R + 2a cos 2(theta - phi): in the
# doubled angle they are 360/K apart. Even K: best 1 where one hits the long axis (K/2 steps on
# another hits the short one; for K = 2 as well), worst cos(180/K) with the axis halfway between.
# Odd K: between (1 + cos(180/K)) / 2 and cos(90/K).
SHARES = [
    (2, 0.0, 1.0),
    (3, 0.7500, 0.8660),  # (1 + cos 60) / 2; cos 30
    (4, 0.7071, 1.0),  # cos 45
    (6, 0.8660, 1.0),  # cos 30
    (8, 0.9239, 1.0),  # cos 22.5
    (9, 0.9698, 0.9848),  # (1 + cos 20) / 2; cos 10
    (12, 0.9659, 1.0),  # cos 15
]


@pytest.mark.parametrize(("angles", "least", "most"), SHARES)
def test_k_angles_see_this_share_of_an_ellipse(angles: int, least: float, most: float) -> None:
    spaced = [180.0 * number / angles for number in range(angles)]
    # orientations in sixteenths of the spacing: the extremes lie on quarters of it
    shares = [
        float(seen(spaced, 2, 180.0 / angles * part / 16).value) / (4 * A) for part in range(16)
    ]
    assert min(shares) == pytest.approx(least, abs=1e-4)
    assert max(shares) == pytest.approx(most, abs=1e-4)


def test_readings_at_0_and_90_can_miss_all_of_the_ovality_and_the_remark_says_so() -> None:
    # the long axis at 45 degrees: both diameters are 2R, though the ovality is 0.020
    two = oval_at_45((0, 90))
    assert float(two.out_of_round_mm) == pytest.approx(0.0, abs=2e-9)
    assert (two.angles_used, two.ovality_seen) == ("0;90", "0.0000")
    assert (two.form_verdict, two.verdict) == ("not-seen", "within")  # the size alone decides
    assert "two angles only: they can miss all of the ovality" in two.remarks
    # with two more angles the same journal is out of form
    four = oval_at_45((0, 45, 90, 135))
    assert float(four.out_of_round_mm) == pytest.approx(0.020, abs=2e-9)
    assert (four.verdict, four.remarks) == ("out-of-form", "")
    assert (four.ellipse_mm, four.ellipse_deg) == ("0.02000", "45")


def oval_at_45(angles_deg: tuple[int, ...]) -> JournalResult:
    """A journal of this oval, front and rear, out-of-round limit 0.010."""
    taken = {
        Position("M1", station, angle): diameter(angle, 2, 45.0)
        for station in ("front", "rear")
        for angle in angles_deg
    }
    journal = journal_plan(limits("49.9 mm", None, "0.010 mm"), angles_deg=angles_deg)
    return judged_simply(journal, taken).result


def test_a_limit_on_the_radius_is_not_a_limit_on_the_difference_of_diameters() -> None:
    # An oval of 2a = 0.010 on the radius shows 4a = 0.020 between two anvils (derived). The limit
    # of a plan is for diameters: a radial one must be doubled first, and 0.010 taken for it would
    # condemn a shaft at its radial limit.
    on_diameter = limits("49.9 mm", None, "0.020 mm")
    angles = 0, 45, 90, 135
    taken = {Position("M1", "front", angle): diameter(angle, 2) for angle in angles}
    as_diameter = journal_plan(on_diameter, ("front",), angles)
    assert judged_simply(as_diameter, taken).result.form_verdict == "within"
    as_radius = journal_plan(limits("49.9 mm", None, "0.010 mm"), ("front",), angles)
    assert judged_simply(as_radius, taken).result.form_verdict == "over"


# Whole cases. Limits: US Army TM 5-3805-262-34 p. 4-24, rods, under 2.748 in to be reground,
# out-of-round and taper over 0.0005 in too; the upper limit 2.749 is its .010 band plus .010. The
# readings are invented, the numbers beside them worked by hand: front 0/90, rear 0/90.
STANDARD = Limits(
    parse_length("2.748 in"),
    parse_length("2.749 in"),
    parse_length("0.0005 in"),
    parse_length("0.0005 in"),
)
FIRST_UNDERSIZE = Limits(
    parse_length("2.738 in"),
    parse_length("2.739 in"),
    parse_length("0.0005 in"),
    parse_length("0.0005 in"),
)


def crankpin(given: Limits, unit: str, *sizes: str) -> JournalResult:
    """Front 0/90, rear 0/90, judged without a guard: two angles can miss an oval, so form is over
    its limit or not seen.
    """
    places = [Position("R1", station, angle) for station in ("front", "rear") for angle in (0, 90)]
    taken = {place: to_mm(Decimal(size), unit) for place, size in zip(places, sizes, strict=True)}
    journal = journal_plan(given, name="R1")
    return judged_simply(journal, taken).result


def inches(text: str) -> Decimal:
    """Exact mm of an inch value, as a number to compare with."""
    return to_mm(Decimal(text), "in")


CRANKPINS = [
    # front 88-86 = 2, rear 86-84 = 2; at 0: 88-86 = 2, at 90: 86-84 = 2; smallest 84
    ("2.7488 2.7486 2.7486 2.7484", STANDARD, ".0002 .0002 2.7484 2.7488", "within", "not-seen"),
    # front 85-89 = 4; at 0: 85-89 = 4. The stations' means are both 2.7487: taper is not of means
    ("2.7485 2.7489 2.7489 2.7485", STANDARD, ".0004 .0004 2.7485 2.7489", "within", "not-seen"),
    # front 89-83 = 6 > 5; at 0: 89-88 = 1, at 90: 83-84 = 1
    ("2.7489 2.7483 2.7488 2.7484", STANDARD, ".0006 .0001 2.7483 2.7489", "out-of-form", "over"),
    # front 89-88 = 1; at 0: 89-83 = 6 > 5
    ("2.7489 2.7488 2.7483 2.7482", STANDARD, ".0001 .0006 2.7482 2.7489", "out-of-form", "over"),
    # worn by 0.0009 under 2.748; rear 74-71 = 3; at 0: 75-74 = 1
    ("2.7475 2.7472 2.7474 2.7471", STANDARD, ".0003 .0001 2.7471 2.7475", "below", "not-seen"),
    # worn by 0.0027; front 59-55 = 4; at 0: 59-57 = 2
    ("2.7459 2.7455 2.7457 2.7453", STANDARD, ".0004 .0002 2.7453 2.7459", "below", "not-seen"),
    # a shaft already at .010: within those limits, and far below the standard ones
    (
        "2.7385 2.7382 2.7384 2.7381",
        FIRST_UNDERSIZE,
        ".0003 .0001 2.7381 2.7385",
        "within",
        "not-seen",
    ),
    ("2.7385 2.7382 2.7384 2.7381", STANDARD, ".0003 .0001 2.7381 2.7385", "below", "not-seen"),
    # out-of-round exactly .0005: "exceeds" means more than that
    ("2.7489 2.7484 2.7488 2.7484", STANDARD, ".0005 .0001 2.7484 2.7489", "within", "not-seen"),
    # taper exactly .0005
    ("2.7489 2.7488 2.7484 2.7484", STANDARD, ".0001 .0005 2.7484 2.7489", "within", "not-seen"),
]


@pytest.mark.parametrize(("sizes", "given", "numbers", "verdict", "form"), CRANKPINS)
def test_a_crankpin_is_judged_as_worked_by_hand(
    sizes: str, given: Limits, numbers: str, verdict: str, form: str
) -> None:
    found = crankpin(given, "in", *sizes.split())
    out_of_round, taper, smallest, largest = numbers.split()
    assert Decimal(found.out_of_round_mm) == inches(out_of_round)
    assert Decimal(found.taper_mm) == inches(taper)
    assert Decimal(found.smallest_mm) == inches(smallest)
    assert Decimal(found.largest_mm) == inches(largest)
    assert found.verdict == verdict
    assert found.form_verdict == form


def test_how_far_a_pin_is_worn_is_its_margin() -> None:
    # 2.7453 - 2.748 = -0.0027 in
    found = crankpin(STANDARD, "in", "2.7459", "2.7455", "2.7457", "2.7453")
    assert Decimal(found.margin_to_low_mm) == EXACT.minus(inches("0.0027"))
    assert found.smallest_at == "rear/90"


# A workshop table for a 2.5 l flat-four car engine, model year 2000: journal 59.992-60.008 mm,
# out-of-round limit 0.020 mm.
FLAT_FOUR = Limits(
    parse_length("59.992 mm"), parse_length("60.008 mm"), parse_length("0.020 mm"), None
)


def test_a_metric_journal_inside_all_its_limits_is_within() -> None:
    # front 1-(-4) = 5, rear 59.999-59.994 = 5; at 0: 60.001-59.999 = 2, at 90: 96-94 = 2
    found = crankpin(FLAT_FOUR, "mm", "60.001", "59.996", "59.999", "59.994")
    assert (found.out_of_round_mm, found.out_of_round_at) == ("0.00500", "front")
    assert (found.taper_mm, found.taper_at) == ("0.00200", "0")
    assert (found.smallest_mm, found.margin_to_low_mm) == ("59.99400", "0.00200")
    assert (found.verdict, found.form_verdict) == ("within", "not-seen")


def test_a_journal_under_its_limit_and_out_of_round_is_below_and_says_both() -> None:
    # front 95-74 = 21 > 20, rear 90-72 = 18; at 0: 95-90 = 5, at 90: 74-72 = 2; 59.972 < 59.992
    found = crankpin(FLAT_FOUR, "mm", "59.995", "59.974", "59.990", "59.972")
    assert (found.out_of_round_mm, found.out_of_round_at) == ("0.02100", "front")
    assert (found.taper_mm, found.taper_at) == ("0.00500", "0")
    assert (found.smallest_mm, found.margin_to_low_mm) == ("59.97200", "-0.02000")
    assert (found.verdict, found.size_verdict, found.form_verdict) == ("below", "below", "over")
