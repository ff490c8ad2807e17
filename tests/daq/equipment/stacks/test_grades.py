"""Limits of gauge blocks against the published table."""

from decimal import Decimal

import pytest

from daq.equipment.stacks.grades import change_um_per_year, limit_um
from daq.lengths import parse_length

# Grades 0, 1, 2: table of DIN 861, which corresponds with ISO 3650. Grade K: ISO 3650:1998 Table 5,
# from memory. Nominal in mm, then t_e in um of K, 0, 1, 2.
ISO = [
    ("0.5", "0.20", "0.12", "0.20", "0.45"),
    ("10", "0.20", "0.12", "0.20", "0.45"),
    ("10.0001", "0.30", "0.14", "0.30", "0.60"),
    ("25", "0.30", "0.14", "0.30", "0.60"),
    ("25.0001", "0.40", "0.20", "0.40", "0.80"),
    ("50", "0.40", "0.20", "0.40", "0.80"),
    ("50.0001", "0.50", "0.25", "0.50", "1.00"),
    ("75", "0.50", "0.25", "0.50", "1.00"),
    ("75.0001", "0.60", "0.30", "0.60", "1.20"),
    ("100", "0.60", "0.30", "0.60", "1.20"),
    ("100.0001", "0.80", "0.40", "0.80", "1.60"),
    ("150", "0.80", "0.40", "0.80", "1.60"),
]


@pytest.mark.parametrize(("mm", "k", "zero", "one", "two"), ISO)
def test_limits_of_iso_3650_change_just_over_the_end_of_a_band(
    mm: str, k: str, zero: str, one: str, two: str
) -> None:
    size = parse_length(f"{mm} mm")
    assert [limit_um(grade, size) for grade in ("K", "0", "1", "2")] == [
        Decimal(k),
        Decimal(zero),
        Decimal(one),
        Decimal(two),
    ]


def test_inch_blocks_up_to_an_inch_by_asme_b89_1_9() -> None:
    # ASME B89.1.9, blocks over 0.4 up to 1 in: 0 +-6 uin, AS-1 +-12 uin, AS-2 +-24 uin
    size = parse_length("0.75 in")
    found = {grade: limit_um(grade, size) for grade in ("0", "AS-1", "AS-2")}
    uin = Decimal("0.0254")
    assert found == {"0": 6 * uin, "AS-1": 12 * uin, "AS-2": 24 * uin}


def test_an_inch_block_of_an_iso_grade_goes_by_its_mm() -> None:
    assert limit_um("2", parse_length("1 in")) == Decimal("0.80")  # 25.4 mm, the third band


@pytest.mark.parametrize(
    ("grade", "mm", "um"),
    # ISO 3650 6.2.4: 0.02 um + 0.25e-6 l and 0.05 um + 0.5e-6 l (from memory; for grade 0 and for
    # AS-1, AS-2 in TB 9-5210-205-50 Table 4)
    [("0", 100, "0.045"), ("1", 100, "0.100"), ("K", 25, "0.02625"), ("2", 25, "0.0625")],
)
def test_permissible_change_a_year(grade: str, mm: int, um: str) -> None:
    assert change_um_per_year(grade, parse_length(f"{mm} mm")) == Decimal(um)


@pytest.mark.parametrize("grade", ["", "3", "00", "k", "AS-3"])
def test_an_unknown_grade_is_refused_naming_the_known(grade: str) -> None:
    with pytest.raises(ValueError, match="K, 0, 1, 2, AS-1, AS-2"):
        limit_um(grade, parse_length("1 mm"))
    with pytest.raises(ValueError, match="K, 0, 1, 2, AS-1, AS-2"):
        change_um_per_year(grade, parse_length("1 mm"))


def test_a_block_longer_than_any_known_is_refused() -> None:
    assert limit_um("1", parse_length("500 mm")) == Decimal("2.20")  # ISO 3650, from memory
    with pytest.raises(ValueError, match="longer than the longest block"):
        limit_um("1", parse_length("500.0001 mm"))
