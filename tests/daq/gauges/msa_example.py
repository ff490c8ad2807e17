"""Ten parts, three operators, three trials: the worked example of the AIAG manual on measurement
systems analysis. The values are from memory; they give all the results that it publishes.
"""

from decimal import Decimal

from daq.lengths import Position

OPERATORS = '["A", "B", "C"]'
PARTS, TRIALS = 10, 3

# One row for each operator and trial, one column for each part.
ROWS = {
    (0, 1): "0.29 -0.56 1.34 0.47 -0.80 0.02 0.59 -0.31 2.26 -1.36",
    (0, 2): "0.41 -0.68 1.17 0.50 -0.92 -0.11 0.75 -0.20 1.99 -1.25",
    (0, 3): "0.64 -0.58 1.27 0.64 -0.84 -0.21 0.66 -0.17 2.01 -1.31",
    (1, 1): "0.08 -0.47 1.19 0.01 -0.56 -0.20 0.47 -0.63 1.80 -1.68",
    (1, 2): "0.25 -1.22 0.94 1.03 -1.20 0.22 0.55 0.08 2.12 -1.62",
    (1, 3): "0.07 -0.68 1.34 0.20 -1.28 0.06 0.83 -0.34 2.19 -1.50",
    (2, 1): "0.04 -1.38 0.88 0.14 -1.46 -0.29 0.02 -0.46 1.77 -1.49",
    (2, 2): "-0.11 -1.13 1.09 0.20 -1.07 -0.67 0.01 -0.56 1.45 -1.77",
    (2, 3): "-0.15 -0.96 0.67 0.11 -1.45 -0.49 0.21 -0.49 1.87 -2.16",
}


def worked(position: Position, operator: int, trial: int) -> Decimal:
    """The value as so many micrometres from 59.980 mm, for parts P1 to P10."""
    row = ROWS[operator, trial].split()
    return Decimal("59.98") + Decimal(row[int(position.journal[1:]) - 1]) / 1000
