"""The words of a disposition: reasons with their numbers, and what they leave open. Pure."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from daq.lengths import EXACT, MM_PER, plain
from daq.plan.bearing import Clearance
from daq.plan.plan import GroupPlan, Undersize

NOT_EXAMINED = (
    "by diameters at the places of the plan only; not examined: cracks, hardness, fillet radii, "
    "straightness, surface, bores and shells"
)
GRINDER = (
    "the grinder has the last word: a journal worn on one side needs up to twice its loss of "
    "diameter to clean up on its axis"
)
_MOST_NAMES = 12


def names_in(names: Sequence[str]) -> str:
    """Journals in a row, at most a dozen by name."""
    more = len(names) - _MOST_NAMES
    return ", ".join(names[:_MOST_NAMES]) + (f" and {more} more" if more > 0 else "")


def trimmed(mm: Decimal) -> str:
    """A computed length in plain notation without the zeros that arithmetic leaves behind."""
    return plain(mm.normalize(EXACT))


def size_words(mm: Decimal, unit: str) -> str:
    """A diameter in mm, with inches beside it where the plan speaks in inches.

    Inches are rounded half to even to 0.00001, for show only.
    """
    if unit != "in":
        return f"{plain(mm)} mm"
    steps = round(Fraction(mm) / Fraction(MM_PER["in"]) * 10**5)
    inches = plain(EXACT.scaleb(Decimal(steps), -5)).rstrip("0").rstrip(".")
    return f"{inches} in ({plain(mm)} mm)"


def forced_words(below: Sequence[str], over: Sequence[str]) -> str:
    """Which journals leave no lesser step, and why."""
    found = []
    if below:
        found.append(f"under the low limit: {names_in(below)}")
    if over:
        found.append(f"out of form: {names_in(over)}")
    return ", ".join(found)


def fitted_remarks(step: Undersize, rest: Sequence[str], largest_mm: Decimal) -> list[str]:
    """What to think of before bearings of an undersize are fitted without grinding; `largest_mm`
    is the largest reading of the journals that need them.
    """
    said = []
    if step.is_bearing_only and step.high is not None and largest_mm > step.high.mm:
        said.append(
            f"the largest reading, {plain(largest_mm)} mm, is over {step.high}, the high limit of "
            f"{step.name}: measure the oil clearance before it is run"
        )
    if not step.is_bearing_only:
        said.append(
            f"the readings agree with a journal ground to {step.name} before: if it was, write "
            "present_undersize"
        )
    if rest:
        said.append(
            f"{names_in(rest)} within the present limits: whether one shaft may run bearings of "
            "two sizes is for the manual to say"
        )
    return said


def ground_remarks(
    step: Undersize,
    beyond: Sequence[Undersize],
    spare_mm: Decimal,
    guard_mm: Decimal,
    unmeasured: Sequence[str],
) -> list[str]:
    """What may still make a greater undersize of the step found."""
    if beyond:
        said = [GRINDER, f"if it does not clean up, the next undersize is {beyond[0].name}"]
    else:
        said = [GRINDER, f"if it does not clean up, there is no undersize after {step.name}"]
    if spare_mm < guard_mm:
        said.append(
            f"the smallest reading is only {trimmed(spare_mm)} mm over the high limit of "
            f"{step.name}, less than the uncertainty of {plain(guard_mm)} mm"
        )
    if unmeasured:
        said.append(
            f"not measured in full: {names_in(unmeasured)}; a smaller place there asks for a "
            "greater undersize"
        )
    return said


def clearance_words(group: GroupPlan, oil: Clearance | None) -> list[str]:
    """The oil clearance against the plan's limits, where it leaves them."""
    if oil is None:
        return []
    if oil.smallest_mm <= 0:
        return [
            f"no oil clearance is left: {trimmed(oil.smallest_mm)} mm by the plan's housing bore "
            "and shell wall. One of these figures is wrong"
        ]
    if group.oil_clearance is None:
        return []
    low, high = group.oil_clearance
    if low.mm <= oil.smallest_mm and oil.largest_mm <= high.mm:
        return []
    return [
        f"the oil clearance of {trimmed(oil.smallest_mm)} to {trimmed(oil.largest_mm)} mm, by the "
        f"plan's housing bore and shell wall, leaves {low} to {high}: measure both"
    ]
