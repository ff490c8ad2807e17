"""From state to what a person sees: functions to text or renderables, no terminal touched here."""

from collections.abc import Sequence
from decimal import Decimal

from daq.lengths import EXACT
from daq.record.results import GroupResult, JournalResult

VERDICT_WORDS = {
    "within": "within limits",
    "below": "BELOW low limit",
    "above": "ABOVE high limit",
    "out-of-form": "OUT OF FORM",
    "incomplete": "incomplete",
    "undecided": "undecided",
}
_MEANING = {
    "accepted": " (the measurement stands; what it says of the part is each journal's verdict)",
    "rejected": " (the measurement does not stand, whatever the numbers say of the part)",
    "abandoned": " (closed without the closing check: nothing is proven by it)",
    "open": "",
}


def journal_line(result: JournalResult) -> str:
    """One journal in one line of plain text."""
    parts = [
        f"{result.journal}: {VERDICT_WORDS[result.verdict]}{_why_undecided(result)}",
        f"{result.positions_measured} of {result.positions_planned} places",
    ]
    if result.smallest_mm:
        parts.append(
            f"smallest {result.smallest_mm} mm at {result.smallest_at} "
            f"({_as_read(result)}{_signed(result.margin_to_low_mm)} mm to the low limit)"
        )
    if result.uncertainty_mm:
        parts.append(
            f"{'provisionally ' if result.provisional else ''}uncertain by "
            f"{result.uncertainty_mm} mm (probability of keeping the size limits "
            f"{_percent(result.conformance_probability)})"
        )
    if result.out_of_round_mm:
        parts.append(f"two-point out-of-round {result.out_of_round_mm} mm")
    if result.taper_mm:
        parts.append(f"taper {result.taper_mm} mm")
    if result.remarks:
        parts.append(result.remarks)
    if result.settled_by:
        parts.append(result.settled_by)
    return "; ".join(parts)


def _as_read(result: JournalResult) -> str:
    """What the gauge showed and how much was taken off; of an earlier rule set there is neither."""
    if not result.smallest_read_mm:
        return ""
    off = EXACT.subtract(Decimal(result.smallest_read_mm), Decimal(result.smallest_mm))
    return f"read {result.smallest_read_mm}, {_signed(f'{off:.5f}')} taken off; "


def _percent(probability: str) -> str:
    """A probability for people; never 100 % for what is not certain."""
    if not probability:
        return "not known"
    percent = 100 * float(probability)
    if percent > 99.9:
        return "> 99.9 %"
    return "< 0.1 %" if percent < 0.1 else f"{percent:.1f} %"


def _why_undecided(result: JournalResult) -> str:
    """What stands in the way of a verdict, in words; empty for any other verdict."""
    if result.verdict != "undecided":
        return ""
    if result.size_verdict == "undecided":
        return " (nearer to a size limit than the measurement is certain)"
    if result.form_verdict == "undecided":
        return " (a form limit is nearer than the measurement is certain, or under four steps)"
    return " (too few places for a form limit)"


def undecided_lines(results: Sequence[JournalResult]) -> list[str]:
    """What would settle each journal that is undecided by its size."""
    return [f"{result.journal}: {result.settled_by}" for result in results if result.settled_by]


GROUP_WORDS = {
    "serve-as-is": "may serve as it is, by these readings",
    "bearing-undersize": "bearings of an undersize, no grinding",
    "grind": "GRIND ALL of the group",
    "shelf": "SHELF: no step is left",
    "undecided": "undecided",
    "not-assessed": "not assessed",
}


def group_lines(results: Sequence[GroupResult]) -> list[str]:
    """The next step for each group, with its rule and what was not examined."""
    lines = []
    lone = "all journals" if len(results) == 1 else "journals without a group"
    for result in results:
        step = f" to {result.undersize}" if result.undersize and result.step == "grind" else ""
        of = f" of {result.undersize}" if result.undersize and not step else ""
        lines.append(
            f"Next step, {result.group or lone}: {GROUP_WORDS[result.step]}{step}{of}: "
            f"{result.reason}"
        )
        if result.bearing_growth_mm:
            lines.append(
                f"  - each bearing shell is {result.bearing_growth_mm} mm thicker than standard"
            )
        if result.clearance_smallest_mm:
            lines.append(
                f"  - oil clearance {result.clearance_smallest_mm} to "
                f"{result.clearance_largest_mm} mm by the plan's bore and shells"
            )
        lines += [f"  - {remark}" for remark in result.remarks.split("; ") if remark]
    return lines


def _signed(text: str) -> str:
    return text if text.startswith("-") else f"+{text}"


def summary_lines(
    session: str,
    verdict: str,
    reasons: Sequence[str],
    journals: Sequence[JournalResult],
    remarks: Sequence[str] = (),
) -> list[str]:
    """What is left on the screen when a session ends."""
    lines = [f"Session {session}: {verdict}{_MEANING[verdict]}"]
    lines += [f"  - {reason}" for reason in (*reasons, *remarks)]
    lines += [journal_line(result) for result in journals]
    return lines


__all__ = [
    "GROUP_WORDS",
    "VERDICT_WORDS",
    "group_lines",
    "journal_line",
    "summary_lines",
    "undecided_lines",
]
