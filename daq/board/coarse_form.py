"""That a gauge is too coarse for form limits, told while a finer one can still be fetched. Pure."""

from collections.abc import Iterator
from decimal import Decimal

from daq.board.again import in_short
from daq.lengths import MM_PER, Limits, shortest, to_mm
from daq.metrology.form_conformity import is_fit
from daq.record.state import State, step_mm


def coarse_form_words(state: State) -> str:
    """Which form limits will stay undecided with the gauge that read last, in words; "" where all
    can be judged, nothing was read, or a gauge study asks for no verdict.
    """
    taken = max(state.readings[-1:] + state.checks[-1:], key=lambda one: one.seq, default=None)
    if taken is None or taken.sent.unit not in MM_PER or state.plan.study is not None:
        return ""
    step = step_mm(state, taken)
    names = [name for name, one in state.scope.journals.items() if _is_coarse(one.limits, step)]
    if not names:
        return ""
    digit = Decimal(taken.sent.resolution)
    is_last_digit = to_mm(digit, taken.sent.unit) == step
    said = f"{taken.sent.resolution} {taken.sent.unit}" if is_last_digit else f"{shortest(step)} mm"
    return (
        f"Steps of {said} are too coarse for the form limits of {in_short(names, state)}, which "
        "stay undecided. Take a finer gauge, or go on for size."
    )


def _is_coarse(limits: Limits, step: Decimal) -> bool:
    return not all(is_fit(limit, step) for limit in _form_limits(limits))


def _form_limits(limits: Limits) -> Iterator[Decimal]:
    """In mm; a taper per length is another one for each pair of places, and is not counted."""
    if limits.out_of_round is not None:
        yield limits.out_of_round.mm
    if limits.taper is not None and limits.taper_per is None:
        yield limits.taper.mm
