"""The true step of a gauge, where it is not one unit of the last digit: what may be told, and what
shows in the readings. Pure.
"""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from daq.lengths import EXACT, MM_PER, Length, parse_length, plain, to_mm
from daq.record.events import Sent
from daq.record.standing import PartReading
from daq.record.state import StackReading, State, step_mm

LEAST_PRESSES, LEAST_ON_PART, LEAST_VALUES = 12, 6, 3
"""Presses that are looked at before anything is said, how many of them are of the part, and how
many different values are among them. Readings of one stack repeat one another whatever the step
is, so they alone prove nothing. A gauge that counts by ones shows 0 or 5 in six places by chance
once in (10 / 2)^6 = 15,625 sessions, if all last digits are alike likely. Chosen by us."""

FIVE = 5


def step_fault(step: Length, unit: str, digit: Decimal) -> str | None:
    """Why a gauge whose last digit counts `digit` of `unit`, a length, cannot go by `step`; None if
    it can.
    """
    if (Fraction(step.mm) / (Fraction(digit) * Fraction(MM_PER[unit]))).denominator == 1:
        return None
    return (
        f"the step {step} is no multiple of the gauge's last digit, {plain(digit)} {unit}: give "
        "the step that the gauge really goes by, or leave it out"
    )


def told_step_fault(state: State, sent: Sent) -> str | None:
    """Why the step told for this run cannot be that of the gauge that sent this; None if it can."""
    told = state.setup.step
    if told is None or sent.unit not in MM_PER:
        return None
    return step_fault(parse_length(told), sent.unit, Decimal(sent.resolution))


def counts_in_fives(on_stack: Iterable[Sent], on_part: Iterable[Sent]) -> bool:
    """Every last digit is 0 or 5, over enough presses to tell; all of one unit and resolution.

    No more is looked at than the first that says otherwise.
    """
    values: set[str] = set()
    counts = []
    for readings in (on_part, on_stack):
        count = 0
        for sent in readings:
            if sent.value not in values and not _is_of_five(sent):
                return False
            values.add(sent.value)
            count += 1
        counts.append(count)
    part, stack = counts
    return part >= LEAST_ON_PART and part + stack >= LEAST_PRESSES and len(values) >= LEAST_VALUES


def _is_of_five(sent: Sent) -> bool:
    return (Fraction(sent.value) / Fraction(sent.resolution)) % FIVE == 0


def fives_words(state: State) -> str:
    """That the gauge of the running stint may go by steps of five, in words; "" while nothing
    speaks for that, or while its step is known to be another than one of the last digit.
    """
    stint = state.stint
    latest = max(state.readings[-1:] + state.checks[-1:], key=lambda taken: taken.seq, default=None)
    if stint is None or latest is None or latest.sent.unit not in MM_PER:
        return ""
    sent, digit = latest.sent, Decimal(latest.sent.resolution)
    if not _is_of_five(sent) or step_mm(state, latest) != to_mm(digit, sent.unit):
        return ""
    device = stint.event.source.device
    stints = {each.stint for each in state.stints if each.source.device == device}
    terms = (sent.unit, sent.resolution, sent.channel)

    def of_this(taken: Sequence[StackReading | PartReading]) -> Iterator[Sent]:
        """The latest first: an ordinary gauge shows another digit soon."""
        for each in reversed(taken):
            said = each.sent
            if each.stint in stints and (said.unit, said.resolution, said.channel) == terms:
                yield said

    if not counts_in_fives(of_this(state.checks), of_this(state.readings)):
        return ""
    step = f"{plain(EXACT.multiply(digit, FIVE))} {sent.unit}"
    return (
        f"Every last digit so far is 0 or 5: this gauge may step by {step}. If it does, give "
        f'--step "{step}", or write resolution = "{step}" into the gauge file.'
    )
