"""One line of an uncertainty budget: an input, how well it is known, what it does. Pure.

Standard uncertainties are floats in the unit of their input, contributions floats in mm.
"""

import math
from typing import Literal

import msgspec

EvaluationType = Literal["A", "B"]
Distribution = Literal["normal", "rectangular", "product"]


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


def resolution_u(step: float) -> float:
    """Of a value shown in steps: half a step either way. Source: JCGM 100:2008, F.2.2.1."""
    return rectangular(step / 2)


def from_expanded(half_width: float, k: float) -> float:
    """Of a certificate's expanded uncertainty with its coverage factor: U / k.

    Source: JCGM 100:2008, 4.3.3. Raises ValueError for a `k` that is not over zero.
    """
    if not k > 0:
        raise ValueError(f"a coverage factor of {k}")
    return half_width / k


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
    "from_expanded",
    "product_term",
    "rectangular",
    "resolution_u",
]
