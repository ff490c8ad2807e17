"""One invented crankshaft, for demonstrations."""

from __future__ import annotations

from simulator.workpiece import Crankshaft, JournalShape

# Wanted: mains 59.970 to 59.990 mm, rods 50.780 to 50.800 mm. Two journals are bad, each in one
# way only: M3 is worn below its low limit but round, R2 is oval but within its limits of size.
EXAMPLE = Crankshaft(
    title="Marlpit pumping station, engine No. 2 (invented)",
    journals=(
        JournalShape("M1", 59.9812, ovality_mm=0.0012, ovality_deg=30.0, taper_mm=0.0004),
        JournalShape("R1", 50.7904, ovality_mm=0.0016, ovality_deg=75.0, taper_mm=0.0006),
        JournalShape("M2", 59.9795, ovality_mm=0.0018, ovality_deg=110.0, taper_mm=-0.0003),
        JournalShape("R2", 50.7897, ovality_mm=0.0120, ovality_deg=90.0, taper_mm=0.0005),
        JournalShape("M3", 59.9610, ovality_mm=0.0014, ovality_deg=50.0, taper_mm=0.0005),
        JournalShape(
            "R3",
            50.7911,
            ovality_mm=0.0013,
            ovality_deg=15.0,
            taper_mm=-0.0007,
            # Three lobes, as centreless grinding leaves: real, yet no micrometer sees them.
            lobes=((3, 0.0015, 20.0),),
        ),
        JournalShape("M4", 59.9803, ovality_mm=0.0011, ovality_deg=140.0, taper_mm=0.0002),
    ),
)
"""A three-cylinder pump engine's crankshaft: mains M1 to M4, rods R1 to R3; sizes in mm."""
