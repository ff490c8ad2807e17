"""A simulated data-output micrometer and the errors it makes."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Literal, get_args

from simulator.rounding import to_step

Unit = Literal["mm", "in"]

MM_PER_INCH = 25.4
SECONDS_PER_HOUR = 3600.0


@dataclass(frozen=True, slots=True)
class Shown:
    """What stands on the display: digits, trailing zeros kept, and their unit."""

    digits: Decimal
    unit: Unit


@dataclass(frozen=True, slots=True)
class Flags:
    """States some formats send: battery low, and zeroed since the gauge was switched on."""

    low_battery: bool = False
    zeroed: bool = False


class Micrometer:
    """A micrometer with bias, drift, scatter and a display of limited resolution.

    Errors are in mm and positive when the gauge reads too large; repeatability_mm is the standard
    deviation of a normal scatter. Resolutions are decimal text in the unit shown, and give the
    display its number of decimals. Times are seconds since the gauge was switched on. Equal seeds
    and equal calls show equal digits. Raises ValueError for settings no gauge has.
    """

    def __init__(
        self,
        *,
        resolution_mm: str = "0.001",
        resolution_in: str = "0.00005",
        bias_mm: float = 0.0,
        drift_mm_per_hour: float = 0.0,
        repeatability_mm: float = 0.0,
        unit: Unit = "mm",
        seed: int = 0,
        low_battery: bool = False,
    ) -> None:
        if unit not in get_args(Unit):
            raise ValueError(f"unit must be mm or in, not {unit!r}")
        if not math.isfinite(repeatability_mm) or repeatability_mm < 0:
            raise ValueError("repeatability_mm is a standard deviation: finite, never negative")
        self._steps: dict[Unit, Decimal] = {
            "mm": _resolution(resolution_mm),
            "in": _resolution(resolution_in),
        }
        # The systematic error is a straight line in time through (_since_s, _bias_mm).
        self._since_s = 0.0
        self._bias_mm = _finite("bias_mm", bias_mm)
        self._drift_mm_per_hour = _finite("drift_mm_per_hour", drift_mm_per_hour)
        self._repeatability_mm = repeatability_mm
        self._unit: Unit = unit
        self._zeroed = False
        self._low_battery = low_battery
        self._random = random.Random(seed)

    @property
    def unit(self) -> Unit:
        """The unit on the display now."""
        return self._unit

    @property
    def flags(self) -> Flags:
        """The states some formats send."""
        return Flags(low_battery=self._low_battery, zeroed=self._zeroed)

    def error_mm(self, at_s: float) -> float:
        """Systematic error at a moment: bias and drift so far, in mm, positive reads large."""
        hours = (at_s - self._since_s) / SECONDS_PER_HOUR
        return self._bias_mm + self._drift_mm_per_hour * hours

    def read(self, true_mm: float, at_s: float) -> Shown:
        """What the display shows with a size in mm between the anvils; uses up one random draw.

        Raises ValueError when true_mm or at_s is not finite.
        """
        _finite("true_mm", true_mm)
        _finite("at_s", at_s)
        # Drawn even when there is no scatter, so that one setting does not shift all later draws.
        scatter_mm = self._random.gauss(0.0, 1.0) * self._repeatability_mm
        indicated_mm = true_mm + self.error_mm(at_s) + scatter_mm
        indicated = indicated_mm / MM_PER_INCH if self._unit == "in" else indicated_mm
        return Shown(to_step(indicated, self._steps[self._unit]), self._unit)

    def switch_unit(self) -> None:
        """Press the unit button: mm to in, in to mm. What is measured does not change."""
        self._unit = "in" if self._unit == "mm" else "mm"

    def rezero(self, true_mm: float, at_s: float) -> None:
        """Set the gauge on a piece of known size in mm, so that this size reads right now.

        The errors simulated are the same at every size, so all of them go; drift starts afresh.
        Raises ValueError when there is no size to set it on.
        """
        if _finite("true_mm", true_mm) <= 0:
            raise ValueError("a gauge is set on a piece of a size above zero")
        self.set_bias(0.0, at_s)
        self._zeroed = True

    def set_bias(self, bias_mm: float, at_s: float) -> None:
        """Make the systematic error this many mm now; drift goes on from here."""
        self._bias_mm = _finite("bias_mm", bias_mm)
        self._since_s = _finite("at_s", at_s)

    def set_drift(self, mm_per_hour: float, at_s: float) -> None:
        """Change the rate of drift from now on; the error reached so far stays."""
        rate = _finite("mm_per_hour", mm_per_hour)
        self.set_bias(self.error_mm(at_s), at_s)
        self._drift_mm_per_hour = rate


def _resolution(text: str) -> Decimal:
    """A display step from its text; ValueError unless it is a number above zero."""
    try:
        step = Decimal(text)
    except InvalidOperation:
        raise ValueError(f"a resolution is a decimal number, not {text!r}") from None
    if not step.is_finite() or step <= 0:
        raise ValueError(f"a resolution must be above zero, not {text!r}")
    return step


def _finite(name: str, value: float) -> float:
    """The value itself; ValueError when it is not a finite number."""
    if not math.isfinite(value):
        raise ValueError(f"{name} must be a finite number, not {value}")
    return value
