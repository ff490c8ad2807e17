"""Coefficients of expansion as they are written, and the correction to 20 degrees Celsius."""

import math
from decimal import Decimal
from fractions import Fraction

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.metrology.expansion import (
    MATERIALS,
    Coefficient,
    at_reference,
    check_range,
    difference_words,
    factor,
)
from tests.expansions import parse_coefficient

STEEL = MATERIALS["steel"]
degrees = st.decimals(5, 40, places=2)
sizes = st.decimals(1, 500, places=4)


def per_k(text: str) -> Coefficient:
    return parse_coefficient(f"{text} /K")


def corrected(mm: str, part_c: str, ref_c: str, part: Coefficient, ref: Coefficient) -> Decimal:
    return at_reference(
        Decimal(mm),
        part_c=Decimal(part_c),
        part=part,
        reference_c=Decimal(ref_c),
        reference=ref,
    )


@pytest.mark.parametrize(
    ("text", "per_kelvin"),
    [
        ("11.5e-6 /K", "0.0000115"),
        ("11.5E-6/K", "0.0000115"),
        ("  +0.0000115 / K ", "0.0000115"),
        ("11.5e-6 /C", "0.0000115"),
        ("11.5e-6 /°C", "0.0000115"),
        # 6.4 x 9/5 = 11.52
        ("6.4e-6 /F", "0.00001152"),
        ("6.4e-6 /°F", "0.00001152"),
        ("1.2e-6 /K", "0.0000012"),
        ("1e-4 /K", "0.0001"),
    ],
)
def test_a_coefficient_is_read_exactly_per_kelvin(text: str, per_kelvin: str) -> None:
    assert parse_coefficient(text).value == Decimal(per_kelvin)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("11.5", "has no unit"),
        ("11.5e-6", "has no unit"),
        ("", "is not a coefficient"),
        ("11.5 ppm", "is not a coefficient"),
        ("11.5e-6 mm", "is not a coefficient"),
        ("11.5e-6 K", "is not a coefficient"),
        ("11,5e-6 /K", "is not a coefficient"),
        ("nan /K", "is not a coefficient"),
        ("1_1e-6 /K", "is not a coefficient"),
        ("٣e-6 /K", "is not a coefficient"),
        ("-11.5e-6 /K", "not over zero"),
        ("0 /K", "not over zero"),
        ("11.5 /K", "more than any metal"),
        ("1.01e-4 /K", "more than any metal"),
        ("5.6e-5 /F", "more than any metal"),  # 5.6 x 9/5 = 10.08
        ("1e99 /K", "more than any metal"),
    ],
)
def test_a_coefficient_of_wrong_sign_unit_or_size_is_refused(text: str, reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        parse_coefficient(text)


def test_a_long_text_is_not_echoed_whole() -> None:
    with pytest.raises(ValueError, match="is not a coefficient") as caught:
        parse_coefficient("x" * 100_000)
    assert len(str(caught.value)) < 300


def test_a_coefficient_without_limits_is_known_to_ten_percent() -> None:
    found = per_k("11.5e-6")
    assert found.half_width == Decimal("0.00000115")
    # NIST Engineering Metrology Toolbox, temperature tutorial, slides 11, 12: about 10 % / sqrt(3)
    assert found.standard_uncertainty == pytest.approx(1.15e-6 / math.sqrt(3), rel=1e-12)
    assert str(found) == "(11.5 +- 1.15)e-6 /K"


@pytest.mark.parametrize(
    ("name", "millionths"),
    [
        # handbook tables, seen second-hand
        ("steel-1045", "11.6"),
        ("steel-4340", "12.3"),
        ("steel-4140", "12.3"),
        ("steel-1040", "11.2"),
        # NIST Engineering Metrology Toolbox, temperature tutorial, slide 12: 20 to 100 degrees
        ("steel-1050", "11.5"),
        # D. A. Swyt, J. Res. NIST 99 (1994) 31
        ("steel", "11.5"),
        ("aluminium", "23.1"),
        # ISO 3650:1998, 6.2.2 (from memory)
        ("gauge-block-steel", "11.5"),
        # middles of handbook ranges, from memory: 10.5 to 10.8, 11 to 12, 11 to 12.3
        ("grey-cast-iron", "10.65"),
        ("ductile-iron", "11.5"),
        ("forged-steel", "11.65"),
    ],
)
def test_materials_have_their_published_coefficients(name: str, millionths: str) -> None:
    found = MATERIALS[name]
    assert found.value == Decimal(millionths).scaleb(-6)
    assert found.source


def test_every_material_could_have_been_written_in_a_plan() -> None:
    for name, found in MATERIALS.items():
        assert per_k(format(found.value, "f")).value == found.value, name
        assert 0 < found.half_width < found.value, name


def test_old_cast_iron_is_an_interval_of_fahrenheit() -> None:
    # Dooley, Applied Science for Metal Workers, art. 109: 5.56e-6 per deg F, 10.0e-6 per deg C
    found = parse_coefficient("5.56e-6 /F").value
    assert found == MATERIALS["cast-iron"].value
    assert round(found * 10**6, 1) == Decimal("10.0")


def test_gauge_block_steel_has_its_own_limits() -> None:
    # ISO 3650:1998, 6.2.2 (from memory): (11.5 +- 1.0)e-6 /K from 10 to 30 degrees
    found = MATERIALS["gauge-block-steel"]
    assert found.half_width == Decimal("0.000001")
    assert found.valid == (Decimal(10), Decimal(30))


def test_a_length_read_on_a_warm_part_is_published_so() -> None:
    # NPL FAQ, "How do I correct lengths to 20 C?": 500.035 mm at 23.7 C, 11.7e-6 -> 500.013 mm.
    # Exact quotient 500.0133544, first order 500.0133535 (derived).
    found = corrected("500.035", "23.7", "20", per_k("11.7e-6"), per_k("11.7e-6"))
    assert found == Decimal("500.0133544")
    assert round(found, 3) == Decimal("500.013")


@pytest.mark.parametrize(
    ("mm", "part_c", "part", "ref_c", "ref", "expected"),
    [
        # derived: R (1 + a_i (T_i - 20)) / (1 + a_p (T_p - 20)), to 0.1 nm
        ("57.000", "25", "11.5e-6", "20", "11.5e-6", "56.9967227"),  # a warm part is too long
        ("57.000", "15", "11.5e-6", "20", "11.5e-6", "57.0032777"),  # a cold one too short
        ("60.000", "28", "11.0e-6", "28", "11.5e-6", "60.0002400"),
        ("60.010", "40", "12.3e-6", "22", "11.5e-6", "59.9966211"),
        ("57.030", "65", "12.3e-6", "22", "11.5e-6", "56.9997623"),
    ],
)
def test_a_length_is_corrected_for_part_and_reference(
    mm: str, part_c: str, part: str, ref_c: str, ref: str, expected: str
) -> None:
    assert corrected(mm, part_c, ref_c, per_k(part), per_k(ref)) == Decimal(expected)


@pytest.mark.parametrize("ref_c", ["28", "28.0"])
def test_like_materials_at_one_temperature_keep_every_digit(ref_c: str) -> None:
    # 60.000 stays 60.000, not 60.0000000: nothing was corrected (derived: the factor is 1)
    found = corrected("60.000", "28", ref_c, STEEL, per_k("11.5e-6"))
    assert str(found) == "60.000"


def test_everything_at_20_degrees_keeps_every_digit() -> None:
    assert str(corrected("60.0005", "20.0", "20", per_k("23e-6"), STEEL)) == "60.0005"


@given(mm=sizes, part_c=degrees, ref_c=degrees)
def test_the_rounded_length_is_the_nearest_tenth_of_a_nanometre(
    mm: Decimal, part_c: Decimal, ref_c: Decimal
) -> None:
    other = MATERIALS["aluminium"]
    exact = Fraction(mm) * factor(part_c=part_c, part=STEEL, reference_c=ref_c, reference=other)
    found = at_reference(mm, part_c=part_c, part=STEEL, reference_c=ref_c, reference=other)
    assert abs(Fraction(found) - exact) <= Fraction(1, 2 * 10**7)
    assert found.as_tuple().exponent == -7 or found == mm


def test_ties_go_to_the_even_step() -> None:
    # 10**-4 per kelvin at -9980 degrees is a growth of 0: no part. At 10020 degrees it is 2, so
    # half of an odd number of steps is a tie (derived).
    odd = Coefficient(Decimal("1e-4"), Decimal("1e-5"), "made up")
    assert corrected("0.0000001", "10020", "20", odd, odd) == Decimal("0.0000000")
    assert corrected("0.0000003", "10020", "20", odd, odd) == Decimal("0.0000002")
    assert corrected("-0.0000001", "10020", "20", odd, odd) == Decimal("0.0000000")
    with pytest.raises(ValueError, match="no temperature of a part"):
        corrected("1", "-9980", "20", odd, odd)


@given(mm=sizes, part_c=degrees, ref_c=degrees)
def test_the_correction_goes_with_the_temperatures(
    mm: Decimal, part_c: Decimal, ref_c: Decimal
) -> None:
    """One material: a part warmer than the stack is smaller at 20 degrees than it is read."""
    found = at_reference(mm, part_c=part_c, part=STEEL, reference_c=ref_c, reference=STEEL)
    if abs(part_c - ref_c) * mm >= Decimal("0.01"):  # at least one step of the result
        assert (found < mm) == (part_c > ref_c)


def test_the_factor_is_exact() -> None:
    found = factor(
        part_c=Decimal(25), part=STEEL, reference_c=Decimal(22), reference=per_k("10e-6")
    )
    # (1 + 10e-6 x 2) / (1 + 11.5e-6 x 5) = 1.00002 / 1.0000575
    assert found == Fraction(Decimal("1.00002")) / Fraction(Decimal("1.0000575"))


def test_a_coefficient_outside_its_range_is_warned_of() -> None:
    block = MATERIALS["gauge-block-steel"]
    assert check_range(block, Decimal(10)) is None
    assert check_range(block, Decimal(30)) is None
    warning = check_range(block, Decimal("30.1"))
    assert warning is not None
    assert "10 to 30 °C, not for 30.1 °C" in warning
    assert check_range(block, Decimal("9.9")) is not None
    assert check_range(STEEL, Decimal(40)) is None  # its source states no range


def words(
    part_c: str | None, ref_c: str | None, tolerance: str | None, part: Coefficient = STEEL
) -> str | None:
    return difference_words(
        Decimal("60.000"),
        part_c=None if part_c is None else Decimal(part_c),
        part=part,
        reference_c=None if ref_c is None else Decimal(ref_c),
        reference=STEEL,
        tolerance_mm=None if tolerance is None else Decimal(tolerance),
    )


def test_a_difference_that_matters_is_said_with_its_number() -> None:
    # derived: 60 x 11.5e-6 x 1 = 0.00069 mm; a tenth of 0.0068 is under it, of 0.0070 is not
    assert words("21.0", "20.0", "0.0070") is None
    said = words("21.0", "20.0", "0.0068")
    assert said is not None
    assert said.startswith("1 °C between part and stack is 0.7 um on 60 mm")
    assert words("19", "20", "0.0068") is not None


def test_temperatures_not_known_are_judged_by_one_degree() -> None:
    for part_c, ref_c in ((None, None), ("25", None), (None, "25")):
        assert words(part_c, ref_c, "0.0070") is None
        assert words(part_c, ref_c, "0.0069") is None  # exactly a tenth is not over a tenth
        said = words(part_c, ref_c, "0.0068")
        assert said is not None
        assert "not both known, is 0.7 um on 60 mm" in said


def test_unlike_coefficients_matter_without_a_difference() -> None:
    # derived: 60 x (12.3 - 11.5)e-6 x 10 = 0.00048 mm
    assert words("30", "30", "0.004", MATERIALS["steel-4340"]) is not None
    assert words("30", "30", "0.006", MATERIALS["steel-4340"]) is None
    assert words("30", "30", "0.000001") is None  # one material: no effect at all


def test_without_a_tolerance_nothing_matters() -> None:
    assert words("40", "20", None) is None


def test_a_coefficient_is_kept_and_read_back() -> None:
    for found in MATERIALS.values():
        again = msgspec.json.decode(msgspec.json.encode(found), type=Coefficient)
        assert again == found
