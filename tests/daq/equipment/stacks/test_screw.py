"""Check sizes against a periodic screw error, and the usual permitted errors."""

from decimal import Decimal

import pytest

from daq.equipment.stacks.screw import (
    PITCH,
    check_sizes,
    hides_periodic_error,
    spindle_angle_deg,
    usual_permitted_um,
)
from daq.lengths import Length, parse_length, plain

# Practice after DIN 863-1, ISO 3611:1978 annex and VDI 2618; the list from memory
C7 = "2.5 5.1 7.7 10.3 12.9 15 17.6 20.2 22.8 25"


def sizes(low: str, high: str) -> list[Length]:
    first = parse_length(low)
    return list(check_sizes(first, parse_length(high), PITCH[first.unit]))


def numbers(found: list[Length]) -> str:
    return " ".join(plain(one.value) for one in found)


def angles(found: list[Length], zero: Length) -> list[int]:
    given = [spindle_angle_deg(one, zero, PITCH[zero.unit]) for one in found]
    assert all(angle.denominator == 1 for angle in given)
    return [int(angle) for angle in given]


def test_the_ten_sizes_over_25_mm() -> None:
    found = sizes("0 mm", "25 mm")
    assert numbers(found) == C7
    # derived: (L mod 0.5) / 0.5 x 360
    assert angles(found, parse_length("0 mm")) == [0, 72, 144, 216, 288, 0, 72, 144, 216, 0]
    assert not hides_periodic_error(found, parse_length("0 mm"), PITCH["mm"])


@pytest.mark.parametrize("low", [25, 50, 75, 125])
def test_other_ranges_have_the_same_sizes_from_their_lower_end(low: int) -> None:
    # practice, from memory; the lower end itself is the zero
    wanted = [Decimal(low), *(low + Decimal(text) for text in C7.split())]
    assert [one.value for one in sizes(f"{low} mm", f"{low + 25} mm")] == wanted


def test_the_inch_sizes_stop_at_the_same_five_places() -> None:
    # derived: the same pattern with a pitch of 0.025 in
    found = sizes("0 in", "1 in")
    assert numbers(found) == "0.1 0.205 0.31 0.415 0.52 0.6 0.705 0.81 0.915 1"
    assert angles(found, parse_length("0 in")) == [0, 72, 144, 216, 288, 0, 72, 144, 216, 0]
    assert numbers(sizes("2 in", "3 in")).startswith("2 2.1 2.205 ")


def test_whole_turns_only_hide_a_periodic_error() -> None:
    zero = parse_length("0 mm")
    whole = [parse_length(f"{mm} mm") for mm in (5, 10, 15, 20, 25)]
    assert angles(whole, zero) == [0] * 5
    assert hides_periodic_error(whole, zero, PITCH["mm"])


def test_the_five_point_check_of_an_inch_micrometer_hides_it_too() -> None:
    # 6.25, 12.5, 25, 50, 100 % of the range (a calibration service's page): whole turns, one half
    zero = parse_length("0 in")
    five = [parse_length(f"{inches} in") for inches in ("0.0625", "0.125", "0.25", "0.5", "1.0")]
    assert angles(five, zero) == [180, 0, 0, 0, 0]
    assert hides_periodic_error(five, zero, PITCH["in"])


def test_the_spindle_turns_from_where_the_range_begins() -> None:
    zero = parse_length("2 in")
    assert spindle_angle_deg(parse_length("2.105 in"), zero, PITCH["in"]) == 72


@pytest.mark.parametrize(
    ("low", "high", "pitch", "said"),
    [
        ("25 mm", "25 mm", "0.5", "the first must be under the second"),
        ("50 mm", "25 mm", "0.5", "the first must be under the second"),
        ("-1 mm", "25 mm", "0.5", "is no range"),
        ("0 mm", "1 in", "0.5", "not in the same unit"),
        ("0 mm", "25 mm", "0", "is not above zero"),
        ("0 mm", "4 mm", "0.5", "under 10 turns"),
    ],
)
def test_what_is_no_range_is_refused(low: str, high: str, pitch: str, said: str) -> None:
    with pytest.raises(ValueError, match=said):
        check_sizes(parse_length(low), parse_length(high), Decimal(pitch))


# DIN 863-1, limits of error by range, from a one-page extract
DIN_863 = [4, 4, 5, 5, 6, 6, 7, 7, 8, 8, 9, 9, 10, 10, 11, 11, 12, 12, 13, 13]


def test_the_usual_permitted_error_by_range() -> None:
    found = [usual_permitted_um(Length(Decimal(25 * n), "mm")) for n in range(20)]
    assert found == DIN_863
    # ISO 3611:1978: 4 um + A / 50 (from memory): 75 / 50 = 1.5, the fraction is dropped
    assert usual_permitted_um(parse_length("75 mm")) == 5
