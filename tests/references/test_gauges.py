"""Published facts about gauges, blocks and temperature that stand in no other test."""

from decimal import Decimal
from fractions import Fraction

import pytest

from daq.equipment.stacks.grades import GRADES, limit_um
from daq.equipment.stacks.screw import PITCH, check_sizes
from daq.lengths import parse_length
from daq.metrology.expansion import MATERIALS, factor
from tests.expansions import parse_coefficient

STEEL, ALUMINIUM = MATERIALS["steel"], MATERIALS["aluminium"]


@pytest.mark.parametrize(
    ("low", "high"),
    [("0 in", "1 in"), ("2 in", "3 in"), ("0 mm", "25 mm"), ("50 mm", "75 mm")],
)
def test_a_check_over_the_range_takes_in_its_zero_and_its_whole_capacity(
    low: str, high: str
) -> None:
    # US Army TM 1-1500-204-23-9, 3-9: set zero, then measure a test gauge equal to the maximum
    # capacity; it must read exactly that. Zero of a gauge from 0 on is its closed faces.
    first, last = parse_length(low), parse_length(high)
    found = check_sizes(first, last, PITCH[first.unit])
    assert found[-1] == last
    assert (found[0] == first) == (first.value > 0)


def test_unlike_materials_agree_at_20_degrees_and_nowhere_else() -> None:
    # ISO 1, and J. Res. NIST 99 (1994) 31: the reference temperature is 20 C exactly (68 F). Steel
    # measured by aluminium, which grows more: both at one temperature.
    def factor_at(celsius: str) -> Fraction:
        both = Decimal(celsius)
        return factor(part_c=both, part=STEEL, reference_c=both, reference=ALUMINIUM)

    assert factor_at("20") == factor_at("20.000") == 1
    for celsius in ("0", "19.999", "20.001", "23", "25"):
        assert (factor_at(celsius) > 1) == (Decimal(celsius) > 20)
        assert factor_at(celsius) != 1


def test_gauge_steel_by_a_calibration_practitioner() -> None:
    # 6.5 +- 0.65 uin/in/F = 11.7e-6 per C (a practitioner's post to a mailing list)
    found = parse_coefficient("6.5e-6 /F")
    assert found.value == Decimal("11.7e-6")
    # the 10 % that are taken where nobody states a limit are those that he states
    assert found.half_width == parse_coefficient("0.65e-6 /F").value


def test_the_middles_of_handbook_ranges_have_limits_that_reach_their_ends() -> None:
    # handbooks, from memory: grey cast iron 10.5-10.8, ductile 11.0-12, forged steel 11-12.3
    for name, low, high in (
        ("grey-cast-iron", "10.5e-6", "10.8e-6"),
        ("ductile-iron", "11.0e-6", "12e-6"),
        ("forged-steel", "11e-6", "12.3e-6"),
    ):
        found = MATERIALS[name]
        assert found.value - found.half_width <= Decimal(low)
        assert Decimal(high) <= found.value + found.half_width


def test_grades_of_both_standards_are_known_and_an_older_one_is_not() -> None:
    # ISO 3650: K, 0, 1, 2. ASME B89.1.9-2002, scope: K, 00, 0, AS-1, AS-2. 00 is not offered: the
    # one published table of it found disagrees with memory (4 against 3 uin), and the 00 of DIN 861
    # is no ISO grade.
    assert set(GRADES) == {"K", "0", "1", "2", "AS-1", "AS-2"}
    with pytest.raises(ValueError, match="no grade known here"):
        limit_um("00", parse_length("1 in"))
