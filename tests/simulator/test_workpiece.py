"""Shapes of journals against values worked out from the geometry of a diameter."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulator.errors import ScriptError
from simulator.workpiece import Crankshaft, JournalShape

ANGLES = [degrees / 2 for degrees in range(720)]


def spread(values: list[float]) -> float:
    return max(values) - min(values)


# r = R + a cos n theta: opposite radii add to 2R + 2a cos n theta for even n, and to 2R for odd n.
# With R = 25, a = 0.005 the diameter therefore spreads over 4a = 0.020, or not at all. The
# two-point method is the one ISO 4292 names.
@pytest.mark.parametrize(
    ("count", "expected_mm"), [(2, 0.020), (3, 0.0), (4, 0.020), (5, 0.0), (6, 0.020), (7, 0.0)]
)
def test_spread_of_two_point_diameters(count: int, expected_mm: float) -> None:
    shape = JournalShape("M1", 50.0, lobes=((count, 0.005, 0.0),))
    diameters = [shape.diameter_at(0.5, angle) for angle in ANGLES]
    assert spread(diameters) == pytest.approx(expected_mm, abs=1e-9)
    radii = [shape.radius_at(0.5, angle) for angle in ANGLES]
    # 0.010 in radius whatever the count; half-degree steps miss some troughs by under 1e-5.
    assert spread(radii) == pytest.approx(0.010, abs=1e-5)


def test_ovality_is_largest_less_smallest_diameter_in_its_direction() -> None:
    shape = JournalShape("M1", 59.98, ovality_mm=0.012, ovality_deg=30.0)
    by_angle = {angle: shape.diameter_at(0.5, angle) for angle in ANGLES}
    assert spread(list(by_angle.values())) == pytest.approx(0.012, abs=1e-9)
    assert by_angle[30.0] == pytest.approx(59.986, abs=1e-9)
    assert by_angle[210.0] == pytest.approx(59.986, abs=1e-9)
    assert by_angle[120.0] == pytest.approx(59.974, abs=1e-9)
    assert by_angle[75.0] == pytest.approx(59.980, abs=1e-9)


def test_taper_is_front_less_rear_and_straight() -> None:
    shape = JournalShape("M1", 59.98, taper_mm=0.008)
    assert shape.diameter_at(0.0, 0.0) == pytest.approx(59.984, abs=1e-9)
    assert shape.diameter_at(0.25, 0.0) == pytest.approx(59.982, abs=1e-9)
    assert shape.diameter_at(0.5, 0.0) == pytest.approx(59.980, abs=1e-9)
    assert shape.diameter_at(1.0, 0.0) == pytest.approx(59.976, abs=1e-9)


def test_negative_taper_is_larger_at_the_rear() -> None:
    shape = JournalShape("M1", 59.98, taper_mm=-0.008)
    assert shape.diameter_at(1.0, 0.0) > shape.diameter_at(0.0, 0.0)


def test_an_even_lobe_adds_to_the_ovality() -> None:
    shape = JournalShape("M1", 50.0, ovality_mm=0.004, lobes=((4, 0.001, 0.0),))
    # At 0 deg both crest: 50 + 0.004/2 + 2 * 0.001. At 90 deg the oval is in its trough.
    assert shape.diameter_at(0.5, 0.0) == pytest.approx(50.004, abs=1e-9)
    assert shape.diameter_at(0.5, 90.0) == pytest.approx(50.000, abs=1e-9)


@given(
    count=st.integers(2, 40),
    amplitude=st.floats(0, 0.05),
    crest=st.floats(-360, 360),
    angle=st.floats(-720, 720),
)
def test_one_set_of_lobes_by_its_formula(
    count: int, amplitude: float, crest: float, angle: float
) -> None:
    shape = JournalShape("M1", 50.0, lobes=((count, amplitude, crest),))
    even = 1 - count % 2
    expected = 50.0 + even * 2 * amplitude * math.cos(math.radians(count * (angle - crest)))
    assert shape.diameter_at(0.5, angle) == pytest.approx(expected, abs=1e-9)


@given(angle=st.floats(-360, 360), along=st.floats(0, 1))
def test_a_diameter_is_the_same_from_the_other_side(angle: float, along: float) -> None:
    shape = JournalShape("M1", 60.0, 0.01, 20.0, 0.003, ((3, 0.002, 5.0), (4, 0.001, 70.0)))
    assert shape.diameter_at(along, angle) == pytest.approx(
        shape.diameter_at(along, angle + 180.0), abs=1e-9
    )


@pytest.mark.parametrize("along", [-0.01, 1.01, math.nan])
def test_off_the_end_of_the_journal(along: float) -> None:
    with pytest.raises(ValueError, match="along must be"):
        JournalShape("M1", 60.0).diameter_at(along, 0.0)


@pytest.mark.parametrize(
    ("make", "reason"),
    [
        (lambda: JournalShape("", 60.0), "one word"),
        (lambda: JournalShape("M 1", 60.0), "one word"),
        (lambda: JournalShape("M#1", 60.0), "one word"),
        (lambda: JournalShape("M1", 0.0), "above zero"),
        (lambda: JournalShape("M1", math.inf), "finite"),
        (lambda: JournalShape("M1", 60.0, ovality_mm=-0.001), "never negative"),
        (lambda: JournalShape("M1", 60.0, lobes=((1, 0.001, 0.0),)), "2 or more"),
        (lambda: JournalShape("M1", 60.0, lobes=((3, math.nan, 0.0),)), "finite"),
    ],
)
def test_shapes_that_cannot_be(make: Callable[[], JournalShape], reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        make()


def test_lookup_by_name() -> None:
    shaft = Crankshaft((JournalShape("M1", 60.0), JournalShape("R1", 50.0)))
    assert shaft.names == ("M1", "R1")
    assert shaft.journal("R1").diameter_mm == 50.0


def test_lookup_of_an_unknown_name_tells_the_known_ones() -> None:
    shaft = Crankshaft((JournalShape("M1", 60.0), JournalShape("R1", 50.0)))
    with pytest.raises(ScriptError, match="no journal 'M9' on this crankshaft; known: M1, R1"):
        shaft.journal("M9")


def test_two_journals_of_one_name() -> None:
    with pytest.raises(ValueError, match="share a name"):
        Crankshaft((JournalShape("M1", 60.0), JournalShape("M1", 50.0)))
