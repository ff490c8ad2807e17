"""Published data of the tests beside it, and closeness as the published digits allow."""

import csv
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

DATA = Path(__file__).parent / "data"


def rows(name: str) -> list[dict[str, str]]:
    """A table as text, by the names of its columns; lines with # say where it comes from."""
    lines = (DATA / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def michelson(experiment: int | None = None) -> list[int]:
    """Michelson's 100 values in order, or the 20 of one experiment from 1."""
    return [
        int(row["value"])
        for row in rows("michelson")
        if experiment in (None, int(row["experiment"]))
    ]


def rings() -> list[list[Decimal]]:
    """25 subgroups of 5 inside diameters, mm."""
    return [[Decimal(value) for value in row.values()] for row in rows("piston_rings")]


def study() -> list[list[list[Decimal]]]:
    """The worked gauge study by part, operator and trial."""
    table = rows("gauge_study")
    return [
        [
            [Decimal(row[f"p{part}"]) for row in table if row["operator"] == operator]
            for operator in "ABC"
        ]
        for part in range(1, 11)
    ]


def near(tolerance: float) -> Callable[[float], object]:
    """Within an absolute tolerance: half a unit of the last digit that was printed."""
    return lambda value: pytest.approx(value, rel=0, abs=tolerance)
