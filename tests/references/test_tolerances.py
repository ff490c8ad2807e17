"""Tolerance grades of ISO 286 as the checks of a plan use them."""

from decimal import Decimal

import pytest

from daq.plan.plan import parse_plan
from daq.plan.review import IT_UM, findings

# IT5, IT6, IT7 in um over the first and up to the second diameter in mm. Source: ISO 286-1 as two
# stored tables give it; the values agree with an independent table under the MIT licence.
PUBLISHED = {
    (18, 30): (9, 13, 21),
    (30, 50): (11, 16, 25),
    (50, 80): (13, 19, 30),
    (80, 120): (15, 22, 35),
    (120, 180): (18, 25, 40),
}


def grade_um(diameter_mm: str, grade: int) -> int:
    """What the program takes for a grade at a diameter."""
    found = [row[grade - 5] for over, up_to, *row in IT_UM if over < Decimal(diameter_mm) <= up_to]
    (only,) = found
    return only


def test_the_grades_are_the_published_ones() -> None:
    found = {(int(over), int(up_to)): tuple(row) for over, up_to, *row in IT_UM}
    assert found == PUBLISHED


def test_bands_leave_no_gap_and_do_not_overlap() -> None:
    ends = [(over, up_to) for over, up_to, *_ in IT_UM]
    assert [over for over, _ in ends[1:]] == [up_to for _, up_to in ends[:-1]]


@pytest.mark.parametrize(
    ("diameter", "it6"),
    # the upper end belongs to the band: 50 to that of 30 to 50, 80 to that of 50 to 80
    [("30", 13), ("30.001", 16), ("50", 16), ("50.001", 19), ("80", 19), ("80.001", 22)],
)
def test_the_upper_end_of_a_band_belongs_to_it(diameter: str, it6: int) -> None:
    assert grade_um(diameter, 6) == it6


def test_fits_of_60_mm_have_the_width_of_their_grade() -> None:
    # 60 h6 = 0/-19, 60 g6 = -10/-29 (the -10 also from memory), 60 H7 = +30/0
    for high, low, grade in ((0, -19, 6), (-10, -29, 6), (30, 0, 7)):
        assert high - low == grade_um("60", grade)


def doubts(low: str, high: str) -> list[str]:
    plan = parse_plan(
        f'schema = 1\npart = "p"\n[[journal]]\nname = "J"\nlow = "{low} mm"\nhigh = "{high} mm"\n',
        "x",
    )
    return [found.kind for found in findings(plan)]


@pytest.mark.parametrize(
    ("low", "high", "um"),
    [
        # a workshop table for a flat four: 16 um, tighter than IT6 of 60 mm = 19
        ("59.992", "60.008", 16),
        # workshop pages for a small car: 18 um, about IT6
        ("57.982", "58.000", 18),
    ],
)
def test_journals_of_about_it6_are_not_doubted(low: str, high: str, um: int) -> None:
    assert (Decimal(high) - Decimal(low)) * 1000 == um
    assert grade_um("57", 5) < um < grade_um("57", 6)
    assert doubts(low, high) == []
    # a digit wrong in either makes a tenth or ten times of it
    assert doubts(low, str(Decimal(low) + Decimal(um) / 10_000)) == ["unusual-tolerance"]
    assert doubts(low, str(Decimal(low) + Decimal(um) / 100)) == ["unusual-tolerance"]
