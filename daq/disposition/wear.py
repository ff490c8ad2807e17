"""What the form of a group's journals says together: which way they are worn, what was not seen.
Pure.
"""

from collections.abc import Sequence
from decimal import Decimal

from daq.metrology.ellipse import same_direction
from daq.record.results import JournalResult

SAME_WITHIN_DEG = 22.5
"""Directions this near to their mean count as one. Chosen by us: half the step of four angles."""

OVAL_FROM = 2
"""An ellipse says where it points only if it is so many times the uncertainty of a difference.
Chosen by us: scatter alone fits a small one, in any direction."""


def form_remarks(found: Sequence[tuple[JournalResult, bool]]) -> list[str]:
    """Remarks on a group's form, in words with numbers; none where no form was measured. With each
    result: whether its oval is more than scatter.
    """
    results = [result for result, _ in found]
    seen = [float(result.ovality_seen) for result in results if result.ovality_seen]
    if not seen:
        return []
    return [
        "two-point out-of-round: odd lobes (three, five) do not show at all, and these angles see "
        f"at least {int(100 * min(seen))} % of an oval",
        *_directions([result for result, is_oval in found if is_oval]),
    ]


def _directions(oval: Sequence[JournalResult]) -> list[str]:
    """Which way the oval journals lie; needs at least two."""
    if len(oval) < 2:
        return []
    directions = [float(result.ellipse_deg) for result in oval]
    listed = ", ".join(f"{result.journal} {result.ellipse_deg}°" for result in oval)
    mean = same_direction(directions, SAME_WITHIN_DEG)
    if mean is None:
        return [
            f"worn in different directions, the largest diameter of the fitted oval at {listed} "
            "(if 0° is the same mark on all)"
        ]
    return [
        f"worn in one direction, about {mean:.0f}°: the largest diameter of the fitted oval at "
        f"{listed} (if 0° is the same mark on all)"
    ]


def is_oval_by_guard(result: JournalResult) -> bool:
    """As rule sets 1 and 2 had it: by the guard of a difference of two diameters."""
    if not result.ellipse_mm or not result.form_uncertainty_mm:
        return False
    return Decimal(result.ellipse_mm) > OVAL_FROM * Decimal(result.form_uncertainty_mm)
