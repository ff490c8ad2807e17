"""One line of an uncertainty budget: an input, how well it is known, what it does. Pure.

Standard uncertainties are floats in the unit of their input, contributions floats in mm.
"""

import math
from typing import Literal

import msgspec

from daq.metrology.statistics.distributions import t_quantile

EvaluationType = Literal["A", "B"]
Distribution = Literal["normal", "rectangular", "arcsine", "triangular", "product"]


class Component(msgspec.Struct, frozen=True, kw_only=True):
    """One input of a measurement and its standard uncertainty `u`, in `unit` ("" has none).

    `estimate`: its value in words. `sensitivity`: mm of the result for one `unit` of the input,
    signed. `dof`: degrees of freedom of `u`, at least 1, math.inf allowed. `kind`: "A" from
    statistics of observations, "B" from anything else (JCGM 100:2008, 4.2 and 4.3). `note`: where
    it comes from, for people. Raises ValueError for a number that cannot be one of these.
    """

    name: str
    estimate: str
    u: float
    unit: str
    sensitivity: float
    dof: float = math.inf
    kind: EvaluationType = "B"
    distribution: Distribution = "normal"
    note: str = ""

    def __post_init__(self) -> None:
        if not 0 <= self.u < math.inf:
            raise ValueError(f"{self.name}: a standard uncertainty of {self.u} {self.unit}")
        if not math.isfinite(self.sensitivity):
            raise ValueError(f"{self.name}: a sensitivity of {self.sensitivity}")
        if not self.dof >= 1:
            raise ValueError(
                f"{self.name}: {self.dof} degrees of freedom; fewer than 1 say nothing of scatter"
            )

    @property
    def contribution_mm(self) -> float:
        """|sensitivity| * u, in mm."""
        return abs(self.sensitivity) * self.u


def rectangular(half_width: float) -> float:
    """Standard uncertainty of limits +- `half_width`: / sqrt(3). Source: JCGM 100:2008, 4.3.7."""
    return half_width / math.sqrt(3)


def triangular(half_width: float) -> float:
    """Of limits +- `half_width`, the middle likelier: / sqrt(6). Source: JCGM 100:2008, 4.3.9."""
    return half_width / math.sqrt(6)


def arcsine(half_width: float) -> float:
    """Of a swing of amplitude `half_width`: / sqrt(2). Source: JCGM 100:2008, H.1.3.4."""
    return half_width / math.sqrt(2)


def expanded(half_width: float, k: float) -> float:
    """Of a certificate's expanded uncertainty with its coverage factor: U / k.

    Source: JCGM 100:2008, 4.3.3. Raises ValueError for a `k` that is not over zero.
    """
    if not k > 0:
        raise ValueError(f"a coverage factor of {k}")
    return half_width / k


def from_t(half_width: float, dof: float, coverage: float) -> float:
    """Of a stated interval +- `half_width` that holds `coverage` by Student's t: U / t(dof).

    Source: JCGM 100:2008, 4.3.4 and G.3.2.
    """
    return half_width / t_quantile((1 + coverage) / 2, dof)


def dof_from_reliability(relative: float) -> float:
    """Degrees of freedom of an uncertainty that is itself known to `relative` (0.25: to 25 %).

    1 / (2 relative**2). Source: JCGM 100:2008, G.4.2, eq. G.3.
    """
    if not relative > 0:
        raise ValueError(f"a relative reliability of {relative}")
    return 0.5 / relative**2


def product_term(name: str, u1: float, u2: float, scale: float, note: str = "") -> Component:
    """The second-order part of scale * x * y in mm, for independent x and y of mean zero: u1 * u2.

    It is all there is where both means are zero and the first order vanishes. Source: JCGM
    100:2008, 5.1.2 note; exact, as var(xy) = var(x) var(y) for independent zero-mean x, y.
    """
    return Component(
        name=name,
        estimate="0",
        u=u1 * u2,
        unit="",
        sensitivity=scale,
        distribution="product",
        note=note or "product of two uncertainties",
    )


__all__ = [
    "Component",
    "Distribution",
    "EvaluationType",
    "arcsine",
    "dof_from_reliability",
    "expanded",
    "from_t",
    "product_term",
    "rectangular",
    "triangular",
]
