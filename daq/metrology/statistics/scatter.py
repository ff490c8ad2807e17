"""What a gauge study comes down to: repeatability, operators, parts, and their sums. Pure.

Variances are floats in the unit of the values squared, standard deviations in their unit.
"""

import math

import msgspec

REPEATABILITY, OPERATORS, INTERACTION, PARTS = "repeatability", "operators", "interaction", "parts"

CATEGORY = 1.41
"""sqrt(2) as the average and range method rounds it. Source: AIAG measurement systems analysis
(from memory)."""


class VarianceComponent(msgspec.Struct, frozen=True):
    """A part of the scatter: its variance as estimated, and what counts.

    An estimate below 0 counts as 0; so does an interaction that was pooled into the repeatability.
    """

    name: str
    estimate: float
    variance: float

    @property
    def sd(self) -> float:
        """Standard deviation."""
        return math.sqrt(self.variance)

    @property
    def is_zeroed(self) -> bool:
        """The estimate came out negative and was set to 0."""
        return self.estimate < 0


class StudyScatter(msgspec.Struct, frozen=True):
    """The components that a method knows, and what they make together.

    The trade writes EV for repeatability, AV for reproducibility, GRR for the gauge as a whole, PV
    for parts and TV for the total.
    """

    components: tuple[VarianceComponent, ...]

    def sd_of(self, *names: str) -> float:
        """Standard deviation of these components together; unknown ones count nothing."""
        return math.sqrt(math.fsum(c.variance for c in self.components if c.name in names))

    @property
    def repeatability(self) -> float:
        """EV: of one operator measuring one part."""
        return self.sd_of(REPEATABILITY)

    @property
    def reproducibility(self) -> float:
        """AV: between operators, with the interaction."""
        return self.sd_of(OPERATORS, INTERACTION)

    @property
    def gauge(self) -> float:
        """GRR: repeatability and reproducibility."""
        return self.sd_of(REPEATABILITY, OPERATORS, INTERACTION)

    @property
    def parts(self) -> float:
        """PV: between parts."""
        return self.sd_of(PARTS)

    @property
    def total(self) -> float:
        """TV: gauge and parts."""
        return self.sd_of(REPEATABILITY, OPERATORS, INTERACTION, PARTS)

    @property
    def zeroed(self) -> tuple[str, ...]:
        """Names of the components whose negative estimate was set to 0."""
        return tuple(c.name for c in self.components if c.is_zeroed)

    @property
    def categories(self) -> int | None:
        """How many sizes the gauge can tell apart: 1.41 * PV / GRR, cut to a whole number.

        None where the gauge shows no scatter at all.
        """
        return int(CATEGORY * self.parts / self.gauge) if self.gauge else None

    def percent(self, sd: float) -> float | None:
        """A standard deviation as a percentage of the total's; these do not add up to 100.

        None where nothing scatters.
        """
        return 100 * sd / self.total if self.total else None


def component(name: str, estimate: float, is_counted: bool = True) -> VarianceComponent:
    """A component with what counts of its estimate."""
    return VarianceComponent(name, estimate, max(0.0, estimate) if is_counted else 0.0)
