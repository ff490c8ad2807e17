"""The sample standard deviation of a few readings, as text. Pure."""

from collections.abc import Sequence
from decimal import Decimal

from daq.metrology.statistics.samples import sd


def sd_text(values: Sequence[Decimal]) -> str:
    """Sample standard deviation (n - 1), in the unit of the values, to 7 decimals; empty for one
    value.
    """
    return f"{sd(values):.7f}" if len(values) > 1 else ""
