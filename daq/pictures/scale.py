"""Round steps for the axes of a plot. Pure."""

import math


def nice_step(span: float, most: int) -> float:
    """The smallest of 1, 2 or 5 times a power of ten of which at most `most` cover `span` > 0."""
    rough = span / most
    power = 10.0 ** math.floor(math.log10(rough))
    return next(factor * power for factor in (1, 2, 5, 10) if factor * power >= rough * (1 - 1e-9))


def covering(low: float, high: float, most: int) -> tuple[float, float, float]:
    """A range of whole steps around `low` to `high`, and the step; at most `most` + 1 steps."""
    if high - low < 1e-9:
        low, high = low - 5e-4, high + 5e-4
    step = nice_step(high - low, most - 1)
    return math.floor(low / step + 1e-9) * step, math.ceil(high / step - 1e-9) * step, step
