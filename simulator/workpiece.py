"""The true shape of crankshaft journals, before any gauge has touched them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from simulator.errors import ScriptError

Lobe = tuple[int, float, float]
"""Lobes per turn, radial amplitude in mm, direction of one crest in degrees."""


@dataclass(frozen=True, slots=True)
class JournalShape:
    """One journal: size, ovality, taper and any further lobes.

    diameter_mm is the mean diameter at mid length. ovality_mm is the largest less the smallest
    diameter of the two-lobe form, and ovality_deg the direction of the largest. taper_mm is the
    diameter at the front end less that at the rear end, straight in between; negative when the
    rear is larger. Raises ValueError for a shape that cannot be.
    """

    name: str
    diameter_mm: float
    ovality_mm: float = 0.0
    ovality_deg: float = 0.0
    taper_mm: float = 0.0
    lobes: tuple[Lobe, ...] = ()

    def __post_init__(self) -> None:
        if not self.name or self.name.split() != [self.name] or "#" in self.name:
            raise ValueError(f"a journal's name is one word without '#', not {self.name!r}")
        numbers = [self.diameter_mm, self.ovality_mm, self.ovality_deg, self.taper_mm]
        for count, amplitude_mm, crest_deg in self.lobes:
            if count < 2:
                # One lobe per turn is not form: it is the same circle with its centre moved.
                raise ValueError(f"journal {self.name}: lobes per turn must be 2 or more")
            numbers += [amplitude_mm, crest_deg]
        if not all(math.isfinite(number) for number in numbers):
            raise ValueError(f"journal {self.name}: every dimension must be a finite number")
        if self.diameter_mm <= 0:
            raise ValueError(f"journal {self.name}: diameter_mm must be above zero")
        if self.ovality_mm < 0:
            raise ValueError(f"journal {self.name}: ovality_mm is a size, never negative")

    def radius_at(self, along: float, angle_deg: float) -> float:
        """Radius in mm at a place on the surface.

        along runs from 0.0 at the front end to 1.0 at the rear; ValueError outside it.
        Source: r(theta) = R + sum of a_n cos n(theta - phi_n).
        """
        if not 0.0 <= along <= 1.0:
            raise ValueError(f"along must be 0.0 (front) to 1.0 (rear), not {along}")
        radius_mm = (self.diameter_mm + self.taper_mm * (0.5 - along)) / 2
        # Two lobes of radial amplitude a move the radius by 2a from crest to trough, and the
        # diameter, which meets crest with crest, by 4a.
        radius_mm += _wave(2, self.ovality_mm / 4, self.ovality_deg, angle_deg)
        for count, amplitude_mm, crest_deg in self.lobes:
            radius_mm += _wave(count, amplitude_mm, crest_deg, angle_deg)
        return radius_mm

    def diameter_at(self, along: float, angle_deg: float) -> float:
        """Two-point diameter in mm across the axis in one direction.

        along as in radius_at. An odd number of lobes cancels here by itself: constant width.
        Source: D(theta) = r(theta) + r(theta + 180 deg); ISO 4292 names the two-point method.
        """
        return self.radius_at(along, angle_deg) + self.radius_at(along, angle_deg + 180.0)


@dataclass(frozen=True, slots=True)
class Crankshaft:
    """The journals of one shaft, in the order they stand on it.

    Raises ValueError when two journals share a name.
    """

    journals: tuple[JournalShape, ...]
    title: str = ""

    def __post_init__(self) -> None:
        if len(set(self.names)) != len(self.journals):
            raise ValueError("two journals of one crankshaft share a name")

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the journals, front to rear."""
        return tuple(journal.name for journal in self.journals)

    def journal(self, name: str) -> JournalShape:
        """The journal of that name; ScriptError naming the known ones when there is none."""
        for journal in self.journals:
            if journal.name == name:
                return journal
        known = ", ".join(self.names) or "none"
        raise ScriptError(None, f"no journal {name!r} on this crankshaft; known: {known}")


def _wave(count: int, amplitude_mm: float, crest_deg: float, angle_deg: float) -> float:
    """What one set of lobes adds to the radius at an angle, in mm."""
    return amplitude_mm * math.cos(count * math.radians(angle_deg - crest_deg))
