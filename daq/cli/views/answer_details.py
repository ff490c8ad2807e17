"""What stands behind an answer, for whoever asks: estimates, uncertainties, checks, rules. Pure."""

from decimal import Decimal

from daq.cli.views.ended import SessionEnd
from daq.evaluation.error_notes import error_words
from daq.evaluation.temperature_notes import correction_words_in_short
from daq.lengths import EXACT
from daq.record.results import GroupResult, JournalResult
from daq.record.rule_sets import RULE_SET_3
from drivers.printable import printable

_PHASES = {"before": "before measuring", "during": "in between", "after": "after measuring"}


def detail_paragraphs(end: SessionEnd) -> list[str]:
    """Journal by journal, group by group, check by check, then how it was decided."""
    steps = [] if end.is_study else end.steps
    return [
        "Details, in mm",
        *(_journal(end, result) for result in end.results),
        *(text for step in steps for text in _group(end, step)),
        *_checks(end),
        *how_decided(end),
    ]


def _journal(end: SessionEnd, result: JournalResult) -> str:
    """One journal with all its numbers, as the tables have them."""
    parts = [f"{result.positions_measured} of {result.positions_planned} places"]
    if result.smallest_mm:
        parts.append(
            f"smallest {result.smallest_mm} at {printable(result.smallest_at)} "
            f"({_as_read(result)}{_signed(result.margin_to_low_mm)} over the low limit)"
        )
    if result.uncertainty_mm:
        until_then = ", until the check after measuring" if result.provisional else ""
        chance = chance_words(result.conformance_probability)
        kept = f", inside its size limits with a probability of {chance}" if chance else ""
        parts.append(f"could be off by {result.uncertainty_mm}{until_then}{kept}")
    if result.out_of_round_mm:
        off = result.out_of_round_uncertainty_mm or result.form_uncertainty_mm
        parts.append(f"two-point out-of-round {result.out_of_round_mm}{_off(off)}")
    if result.taper_mm:
        off = result.taper_uncertainty_mm or result.form_uncertainty_mm
        parts.append(f"taper {result.taper_mm}{_off(off)}")
    settling = end.settlings.get(result.journal)
    if settling is not None and settling.away_mm:
        parts.append(
            f"undecided: {settling.at or settling.of} is {settling.away_mm} from the limit, "
            f"{settling.guard_mm} would be enough"
        )
    parts += [printable(result.remarks)] if result.remarks else []
    return f"{printable(result.journal)}: {'; '.join(parts)}."


def _off(uncertainty: str) -> str:
    return f" (could be off by {uncertainty})" if uncertainty else ""


def _as_read(result: JournalResult) -> str:
    """What the gauge showed and how much was taken off; of an earlier rule set there is neither."""
    if not result.smallest_read_mm:
        return ""
    off = EXACT.subtract(Decimal(result.smallest_read_mm), Decimal(result.smallest_mm))
    return f"read {result.smallest_read_mm}, {_signed(f'{off:.5f}')} taken off; "


def _signed(text: str) -> str:
    return text if text.startswith("-") else f"+{text}"


def chance_words(probability: str) -> str:
    """A probability for people, empty if not known; never 100 % for what is not certain."""
    if not probability:
        return ""
    percent = 100 * float(probability)
    if percent > 99.9:
        return "over 99.9 %"
    return "under 0.1 %" if percent < 0.1 else f"{percent:.1f} %"


def _group(end: SessionEnd, step: GroupResult) -> list[str]:
    name = printable(step.group) or "journals without a group"
    # Why a group is undecided stands in the answer itself.
    why = "" if step.step == "undecided" else f": {printable(step.reason)}"
    said = [f"{name}: {step.step}{why}."]
    if step.bearing_growth_mm:
        said.append(f"  each bearing shell is {step.bearing_growth_mm} thicker than standard")
    if step.clearance_smallest_mm:
        said.append(
            f"  oil clearance {step.clearance_smallest_mm} to {step.clearance_largest_mm} by the "
            "plan's bore and shells"
        )
    return said + [f"  {printable(remark)}" for remark in step.remarks.split("; ") if remark]


def _checks(end: SessionEnd) -> list[str]:
    return [
        f"Check {event.check_no} {_PHASES[event.phase]}, stack {event.stack_size_mm}: "
        f"{'passed' if event.passed else 'FAILED'}: {printable(event.reason)}."
        for event in (judged.event for judged in end.state.judged)
    ]


def how_decided(end: SessionEnd) -> list[str]:
    """The rule of decision, then what was done about temperatures and the gauge's error."""
    if end.state.rules < RULE_SET_3:
        return [f"{printable(text)}." for text in end.reasons]
    decision = end.state.plan.decision
    rule = (
        "The limits alone decide."
        if decision.rule == "simple"
        else f"A limit counts as kept or passed at {100 * decision.confidence:g} % confidence "
        "(ISO 14253-1)."
    )
    unknown = [text for text in end.reasons if text.startswith("the permitted error of the gauge")]
    said = [*correction_words_in_short(end.state), *_taken_off(end), *unknown]
    return [rule, *(f"{text[:1].upper()}{printable(text[1:])}." for text in said)]


def _taken_off(end: SessionEnd) -> list[str]:
    """How far the gauge was off, by the stacks it was checked on."""
    stacks: dict[str, list[str]] = {}
    for text in error_words(end.state):
        head, _, words = text.partition(": ")
        stack = end.state.stints[int(head.split()[-1]) - 1].stack_size
        found = stacks.setdefault(words.replace(" on the stack", ""), [])
        if stack not in found:
            found.append(stack)
    return [
        f"{'stack' if len(found) == 1 else 'stacks'} {' and '.join(found)}: {words}"
        for words, found in stacks.items()
    ]


__all__ = ["chance_words", "detail_paragraphs", "how_decided"]
