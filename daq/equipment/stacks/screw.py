"""Checking a micrometer over its range: sizes that catch a periodic error of the screw. Pure.

A screw whose axis wobbles errs in the same way at the same place of every turn. Blocks in steps of
whole turns (0, 5, 10 mm ...) always stop the spindle at one place and cannot show it.
"""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from daq.equipment.stacks.stack_file import trimmed
from daq.lengths import EXACT, Length, to_mm

PITCH = {"mm": Decimal("0.5"), "in": Decimal("0.025")}
"""Usual pitch of the screw by unit: two turns a millimetre, forty an inch."""

SIZES = 10
PLACES = 5
"""Check sizes over the travel, and places of a turn at which they stop the spindle."""


def check_sizes(low: Length, high: Length, pitch: Decimal) -> tuple[Length, ...]:
    """The sizes to check a range at, ascending: `low` itself if it is above zero, then ten.

    For 0 to 25 mm and a pitch of 0.5 mm the ten are 2.5 5.1 7.7 10.3 12.9 15.0 17.6 20.2 22.8 25.0
    mm, other ranges the same from their lower end (practice after DIN 863-1, ISO 3611:1978 and VDI
    2618, from memory). For other travels and pitches: tenths of the travel in whole turns, each a
    fifth of a turn further, the last at the end of the range (derived: the same pattern).
    `low` and `high` must have one unit, `pitch` is in that too. Raises ValueError.
    """
    if low.unit != high.unit:
        raise ValueError(f"{low} and {high} are not in the same unit")
    travel = EXACT.subtract(high.value, low.value)
    if low.value < 0 or travel <= 0:
        raise ValueError(f"{low} to {high} is no range: the first must be under the second")
    if pitch <= 0:
        raise ValueError(f"a pitch of {pitch} {low.unit} is not above zero")
    turns = travel // (SIZES * pitch)
    if not turns:
        raise ValueError(
            f"a travel of {travel} {low.unit} is under {SIZES} turns of {pitch} {low.unit}"
        )
    sizes = [low] if low.value else []
    for number in range(SIZES - 1):
        whole = (number + 1) * turns * pitch
        further = number % PLACES * pitch / PLACES
        sizes.append(Length(trimmed(low.value + whole + further), low.unit))
    return (*sizes, high)


def spindle_angle_deg(size: Length, zero: Length, pitch: Decimal) -> Fraction:
    """Where in its turn the spindle stands at a size, in degrees from where it stands at `zero`.

    `pitch` is in the unit of `size`. Derived: ((size - zero) mod pitch) / pitch x 360.
    """
    turn = Fraction(to_mm(pitch, size.unit))
    return (Fraction(size.mm) - Fraction(zero.mm)) % turn / turn * 360


def hides_periodic_error(sizes: Sequence[Length], zero: Length, pitch: Decimal) -> bool:
    """All sizes stop the spindle within a tenth of a turn, or at two places opposite each other.

    Then an error that repeats with each turn does not show, or only that of one direction. The
    tenth is chosen by us.
    """
    angles = {spindle_angle_deg(size, zero, pitch) for size in sizes}
    return not any(
        _apart(one, other) > 36 and _apart(one, other) < 144 for one in angles for other in angles
    )


def _apart(one: Fraction, other: Fraction) -> Fraction:
    """Degrees between two places of a turn, at most 180."""
    across = abs(one - other) % 360
    return min(across, 360 - across)


def usual_permitted_um(low: Length) -> int:
    """Permitted error of a common micrometer, in um, by the lower end of its range.

    4 um and 1 um more for each whole 50 mm. Source: DIN 863-1 (its table read for 0 to 500 mm; the
    formula, which fits it, from memory of ISO 3611:1978).
    """
    return 4 + int(low.mm // 50)
