"""One oval through several rows of diameters, against two other least-squares fits and by hand."""

import math
from collections.abc import Sequence
from fractions import Fraction

import numpy as np
import pytest

from daq.metrology.oval import MOST_STRETCH, OvalDesign, OvalFit, design, fit_oval, on_grain

FOUR = (0, 45, 90, 135)
THREE = (0, 60, 120)

Angles = tuple[tuple[int, ...], ...]

DESIGNS: list[Angles] = [
    (FOUR,),
    (FOUR, FOUR),
    (THREE,),
    ((0, 45, 90),),
    (FOUR, (0, 45, 90)),  # one place is missing
    ((0, 30, 77, 101, 160), (5, 45, 91, 133), FOUR),  # nothing in it is even
]


def designed(angles: Angles) -> OvalDesign:
    found = design(angles)
    assert found is not None
    return found


def matrix(angles: Angles) -> "np.ndarray[tuple[int, int], np.dtype[np.float64]]":
    """The design matrix as a text book writes it: a mean a row, cos 2t, sin 2t."""
    lines = []
    for number, row in enumerate(angles):
        for angle in row:
            means = [float(number == other) for other in range(len(angles))]
            t = math.radians(2 * angle)
            lines.append([*means, math.cos(t), math.sin(t)])
    return np.array(lines)


def sizes_of(angles: Angles) -> list[list[float]]:
    """Some diameters in mm above one of them: nothing of an oval in them."""
    at = iter(range(1, 100))
    return [[math.sin(37.0 * next(at)) / 1000 for _ in row] for row in angles]


@pytest.mark.parametrize("angles", DESIGNS)
def test_the_fit_is_that_of_a_library(angles: Angles) -> None:
    x, y = matrix(angles), sizes_of(angles)
    flat = np.array([size for row in y for size in row])
    judge, *_ = np.linalg.lstsq(x, flat, rcond=None)
    found = fit_oval(designed(angles), y)
    rows = len(angles)
    assert [*found.means_mm, found.a_mm, found.b_mm] == pytest.approx(list(judge), abs=1e-15)
    left = flat - x @ judge
    assert found.rss == pytest.approx(float(left @ left), rel=1e-9, abs=1e-24)
    assert designed(angles).dof == len(flat) - rows - 2


@pytest.mark.parametrize("angles", DESIGNS)
def test_the_covariances_are_those_of_ordinary_least_squares(angles: Angles) -> None:
    """statsmodels gives (X'X)^-1 as `normalized_cov_params`."""
    import statsmodels.api as sm  # loads slowly

    x = matrix(angles)
    judge = sm.OLS(np.array([size for row in sizes_of(angles) for size in row]), x).fit()
    cov = judge.normalized_cov_params
    rows, found = len(angles), designed(angles)
    caa, cab, cbb = found.inverse
    block = cov[rows:, rows:]
    assert [caa, cab, cbb] == pytest.approx([block[0, 0], block[0, 1], block[1, 1]], abs=1e-12)
    largest = float(max(np.linalg.eigvalsh(block)))
    assert found.stretch == pytest.approx(2 * math.sqrt(largest), rel=1e-9)
    for one in range(rows):
        for other in range(one + 1, rows):
            apart = np.zeros(rows + 2)
            apart[one], apart[other] = 1, -1
            assert found.between(one, other) == pytest.approx(
                math.sqrt(float(apart @ cov @ apart)), rel=1e-9
            )


def test_four_even_angles_at_two_ends_by_hand() -> None:
    # In um above any size: front 74 76 75 73, rear 73 75 75 73; row means 74.5 and 74. Less these,
    # front -0.5 1.5 0.5 -1.5, rear -1 1 1 -1. cos 2t is 1 0 -1 0, sin 2t is 0 1 0 -1, each sum of
    # squares 4 over both rows.
    # a = (-0.5 - 0.5 - 1 - 1) / 4 = -0.75; b = (1.5 + 1.5 + 1 + 1) / 4 = 1.25
    # RSS = 0.25 + 0.25 + 0.25 + 0.25 + 0.25 + 0.25 + 0.25 + 0.25 less what is fitted:
    # front -0.5 + 0.75 = 0.25, 1.5 - 1.25 = 0.25, 0.5 - 0.75 = -0.25, -1.5 + 1.25 = -0.25;
    # rear -1 + 0.75 = -0.25, 1 - 1.25 = -0.25, 1 - 0.75 = 0.25, -1 + 1.25 = 0.25: 8 * 0.0625 = 0.5
    found = fit_oval(designed((FOUR, FOUR)), [[74, 76, 75, 73], [73, 75, 75, 73]])
    assert (found.a_mm, found.b_mm) == pytest.approx((-0.75, 1.25), abs=1e-14)
    assert found.means_mm == pytest.approx((74.5, 74.0), abs=1e-13)
    assert found.rss == pytest.approx(0.5, abs=1e-13)
    # 2 sqrt(0.75**2 + 1.25**2) = 2.9155; the angle of (-0.75, 1.25) is 120.96 degrees, half of it
    assert float(found.ovality_mm) == pytest.approx(2.9155, abs=5e-5)
    assert found.direction_deg == pytest.approx(60.48, abs=5e-3)
    # 2 sqrt(2 / 8) and sqrt(2 / 4)
    assert designed((FOUR, FOUR)).stretch == pytest.approx(1.0)
    assert designed((FOUR, FOUR)).between(0, 1) == pytest.approx(math.sqrt(0.5))


@pytest.mark.parametrize(
    ("angles", "stretch", "is_seen"),
    [
        (FOUR, math.sqrt(2), True),  # 2 sqrt(2 / 4)
        (THREE, 2 * math.sqrt(2 / 3), True),  # 1.63
        # cos 1 0 -1 and sin 0 1 0: less their means (0, 1/3), sums of squares 2 and 2/3, so
        # lambda = 3/2: 2.45
        ((0, 45, 90), 2 * math.sqrt(1.5), False),
        # sums of squares 7/6 and 1/2, of products -sqrt(1/3): their smallest eigenvalue is 1/6
        ((0, 30, 60), 2 * math.sqrt(6), False),
    ],
)
def test_how_well_one_stations_angles_see_an_oval(
    angles: tuple[int, ...], stretch: float, is_seen: bool
) -> None:
    found = designed((angles,))
    assert found.stretch == pytest.approx(stretch, rel=5e-4)
    assert (found.stretch <= MOST_STRETCH) is is_seen


@pytest.mark.parametrize("angles", [((0, 90),), ((10,), (55,)), ((0, 90), (0, 90)), ((30, 75),)])
def test_two_angles_a_row_at_the_same_places_leave_an_oval_open(angles: Angles) -> None:
    assert design(angles) is None


def test_a_direction_is_never_180() -> None:
    assert OvalFit(0.001, -1e-25, (0.0,), 0.0).direction_deg == 0.0
    assert OvalFit(0.001, 1e-25, (0.0,), 0.0).direction_deg < 1e-9


def test_rows_that_each_leave_it_open_close_it_together() -> None:
    # 0 and 90 give a, 45 and 135 give b
    found = fit_oval(designed(((0, 90), (45, 135))), [[3.0, 1.0], [2.0, 2.0]])
    assert (found.a_mm, found.b_mm) == pytest.approx((1.0, 0.0), abs=1e-14)
    assert found.means_mm == pytest.approx((2.0, 2.0), abs=1e-14)


@pytest.mark.parametrize("degrees", [0.0, 20.0, 45.0, 90.0, 112.5, 179.0])
def test_an_oval_comes_out_with_its_size_and_direction(degrees: float) -> None:
    def row(mean: float, angles: Sequence[int]) -> list[float]:
        away = [2 * math.radians(angle - degrees) for angle in angles]
        return [mean + 0.002 * math.cos(t) for t in away]

    found = fit_oval(designed((FOUR, THREE)), [row(0.001, FOUR), row(-0.003, THREE)])
    assert float(found.ovality_mm) == pytest.approx(0.004, abs=1e-12)
    assert found.direction_deg == pytest.approx(degrees, abs=1e-6)
    assert found.means_mm == pytest.approx((0.001, -0.003), abs=1e-15)
    assert found.rss == pytest.approx(0.0, abs=1e-30)


def test_binary_noise_decides_nothing() -> None:
    # 0.1 + 0.2 is not 0.3 in binary; on steps of 10**-12 it is
    assert on_grain(0.1 + 0.2) == Fraction(3, 10)
    assert on_grain(-0.0025) == Fraction(-25, 10_000)
