"""Coefficients of expansion as the files of people's making are read: read, then checked."""

from daq.metrology.expansion import Coefficient, check_coefficient, read_coefficient


def parse_coefficient(text: str) -> Coefficient:
    """A coefficient; raises ValueError with the reason for one that cannot be read or is none."""
    found = read_coefficient(text)
    check_coefficient(found, text)
    return found
