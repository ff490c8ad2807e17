"""The example crankshaft has exactly the two faults it is meant to show."""

from __future__ import annotations

import pytest

from simulator.example import EXAMPLE
from simulator.workpiece import JournalShape

LIMITS_MM = {"M": (59.970, 59.990), "R": (50.780, 50.800)}
STATIONS = (0.0, 0.5, 1.0)


def diameters(journal: JournalShape) -> list[float]:
    return [journal.diameter_at(along, angle) for along in STATIONS for angle in range(0, 180, 5)]


def out_of_round(journal: JournalShape) -> float:
    across = [journal.diameter_at(0.5, angle) for angle in range(180)]
    return max(across) - min(across)


def test_a_three_cylinder_shaft() -> None:
    assert sorted(EXAMPLE.names) == ["M1", "M2", "M3", "M4", "R1", "R2", "R3"]
    assert "invented" in EXAMPLE.title


def test_only_m3_is_outside_its_limits_of_size() -> None:
    outside = []
    for journal in EXAMPLE.journals:
        low, high = LIMITS_MM[journal.name[0]]
        if not all(low <= diameter <= high for diameter in diameters(journal)):
            outside.append(journal.name)
    assert outside == ["M3"]
    assert max(diameters(EXAMPLE.journal("M3"))) < 59.963
    assert min(diameters(EXAMPLE.journal("M3"))) > 59.959


def test_only_r2_is_out_of_form() -> None:
    for journal in EXAMPLE.journals:
        if journal.name == "R2":
            assert out_of_round(journal) == pytest.approx(0.012, abs=1e-4)
        else:
            assert 0.001 <= out_of_round(journal) <= 0.002
        assert abs(journal.taper_mm) < 0.001


def test_the_good_ones_are_in_the_middle_of_their_limits() -> None:
    for journal in EXAMPLE.journals:
        low, high = LIMITS_MM[journal.name[0]]
        if journal.name not in ("M3", "R2"):
            assert all(low + 0.007 < size < high - 0.007 for size in diameters(journal))
