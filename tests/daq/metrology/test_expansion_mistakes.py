"""Mistakes that a temperature correction invites, and units checked against another program."""

from decimal import Decimal
from typing import Any

import pytest

from daq.metrology.expansion import (
    MATERIALS,
    Coefficient,
    at_reference,
    check_range,
)
from tests.expansions import parse_coefficient

STEEL = MATERIALS["steel"]
SIZE = Decimal("57.000")
C20 = Decimal(20)


def at_20(mm: Decimal, part_c: int, ref_c: int, part: Coefficient = STEEL) -> Decimal:
    return at_reference(
        mm, part_c=Decimal(part_c), part=part, reference_c=Decimal(ref_c), reference=STEEL
    )


def test_the_sign_is_not_turned() -> None:
    # derived: a part that is warmer than 20 degrees is shorter at 20 than it is read
    assert at_20(SIZE, 25, 20) < SIZE < at_20(SIZE, 15, 20)


def test_the_reference_is_corrected_for_too() -> None:
    # derived: a warm stack makes the gauge read too small, so the size at 20 is larger
    assert at_20(SIZE, 20, 25) > SIZE
    # and part and stack together cancel, where correcting for the part alone takes 3.3 um off
    assert at_20(SIZE, 25, 25) == SIZE
    assert at_20(SIZE, 25, 20) == Decimal("56.9967227")


def test_nothing_is_corrected_twice() -> None:
    # derived: once at 20 degrees, a length at 20 degrees stays what it is
    once = at_20(SIZE, 25, 22)
    assert at_20(once, 20, 20) == once


def test_a_fahrenheit_interval_has_no_32_in_it() -> None:
    # derived: 1e-6 /F = 1.8e-6 /K; 32 taken off would make it negative
    assert parse_coefficient("1e-6 /F").value == Decimal("1.8e-6")


def test_a_coefficient_is_never_without_uncertainty() -> None:
    for found in (*MATERIALS.values(), parse_coefficient("11.5e-6 /K")):
        assert found.standard_uncertainty > 0


def test_the_limits_of_1050_steel_hold_the_handbooks_that_speak_of_a_workshop() -> None:
    # NIST Engineering Metrology Toolbox, temperature tutorial, slide 12: three handbooks give AISI
    # 1050 as 11.5 (20-100 C), 11.2 (0-100), 13.5 (25-200), 12.1 (0-200), 13.5 (0-400) and
    # 14.6 (21-650 C); those up to 200 and over are of another range.
    found = MATERIALS["steel-1050"]
    low, high = found.value - found.half_width, found.value + found.half_width
    for same_range in ("11.5e-6", "11.2e-6"):
        assert low <= Decimal(same_range) <= high
    for other_range in ("13.5e-6", "14.6e-6"):
        assert not low <= Decimal(other_range) <= high
    assert check_range(found, Decimal(200)) is not None


@pytest.mark.parametrize("text", ["6.4e-6", "5.56e-6", "11.5e-6", "1e-6"])
def test_fahrenheit_agrees_with_pint(text: str) -> None:
    import pint

    registry: Any = pint.UnitRegistry(non_int_type=Decimal)
    judged = registry.Quantity(Decimal(text), "1 / delta_degree_Fahrenheit").to("1 / kelvin")
    # pint divides by 5/9 in 28 digits, and so misses the exact number by its last one
    assert abs(judged.magnitude - parse_coefficient(f"{text} /F").value) < Decimal("1e-30")


def test_68_fahrenheit_is_the_reference_temperature_by_pint() -> None:
    # ISO 1: 20 C exactly, 68 F
    import pint

    registry: Any = pint.UnitRegistry(non_int_type=Decimal)
    judged = registry.Quantity(Decimal(68), "degree_Fahrenheit").to("degree_Celsius")
    assert abs(judged.magnitude - C20) < Decimal("1e-20")
