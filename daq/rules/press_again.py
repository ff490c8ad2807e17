"""A second press as the answer about the first, where the plan says `held = "press-again"`. Pure.

Only where nothing but the time of a reading, or that it repeats the one before, speaks against it;
what then counts is the second one, which nothing at all may speak against. A late answer is no such
doubt: it shows that answers lag behind the presses, and the next may be as stale and agree for just
that reason.
"""

from decimal import Decimal

import msgspec

from daq.equipment.gauge import TYPED_PORT
from daq.evaluation.verdict import stint_age_fault
from daq.lengths import EXACT, Length, parse_length, to_mm
from daq.record.events import Held, Sent
from daq.record.state import (
    State,
    Status,
    held_in,
    least_interval_us,
    sent_mm,
    status,
    target,
)
from daq.rules.commands import Why
from daq.rules.interval import is_soon_question, place_words, seconds
from daq.rules.plausibility import HELD_BUTTON, doubts_about, zero_lost
from daq.rules.steps import told_step_fault

QUESTION_OPEN = "the reading before waits for keep or drop"
"""Why nothing else counts meanwhile."""

PRESSED_AGAIN = "pressed again"
"""Why a reading was dropped that a second press answered about."""

LONGEST_S = 10
LONGEST_US = LONGEST_S * 1_000_000
"""A press later than this after the one in question is of something else."""

MOST_STEPS = 2
"""Two presses of one place differ by no more of the gauge's steps."""


def is_offered(state: State) -> bool:
    """The reading in question may be answered by a press; False too where none is."""
    return (
        state.held is not None
        and state.plan.taking.held == "press-again"
        and state.setup.source.port != TYPED_PORT
        and _is_of_time(state.held.event)
    )


def _is_of_time(held: Held) -> bool:
    return all(reason == HELD_BUTTON or is_soon_question(reason) for reason in held.reasons)


def can_be_pressed(state: State, at_us: int) -> bool:
    """A press at `at_us` may be such an answer."""
    return is_offered(state) and at_us - held_in(state).at_us <= LONGEST_US


def offer_words(state: State, press: str) -> str:
    """What to do for it, `press` being how a reading is given; empty where it is not offered."""
    if not is_offered(state):
        return ""
    of = target(state)
    where = f"on {of}" if isinstance(of, str) else f"at {place_words(of)}"
    words = f"{press} once more {where} within {LONGEST_S} s"
    return words[:1].upper() + words[1:]


def why_no_answer(
    state: State, what: Sent, came: Why, at_us: int, before_us: int | None = None
) -> str:
    """Why what came at `at_us` while a question waits does not answer it, in words; empty if it
    does. `before_us`: when the last of its channel came, where the record does not tell of that
    yet.
    """
    # What rests, is typed or comes unasked was not pressed.
    if not is_offered(state) or came not in ("sent", "pressed"):
        return QUESTION_OPEN
    said = (
        _doubts(msgspec.structs.replace(state, held=None), what, at_us)
        or _unlike(state, what)
        or _out_of_time(state, what.channel, at_us, before_us)
        or _far(state, what)
    )
    return f"{QUESTION_OPEN}, and this one does not answer for it: {said}" if said else ""


def _doubts(free: State, what: Sent, at_us: int) -> str:
    """Why it would not have counted by itself, were no question open."""
    stint = free.stint
    if stint is None or stint.is_over:
        return "nothing was being measured"
    flags = zero_lost(free, what.flags)
    if flags:
        return f"the gauge says {', '.join(flags)}"
    doubts = doubts_about(free, what)
    if doubts:
        return "; ".join(doubts)
    is_old = status(free) is Status.MEASURING and stint_age_fault(free, at_us)
    return is_old or told_step_fault(free, what) or ""


def _unlike(state: State, what: Sent) -> str:
    """Of the first reading of a check nothing but the one in question says what it is like."""
    held = held_in(state).event.sent
    for now, was, name in (
        (what.channel, held.channel, "device"),
        (what.unit, held.unit, "unit"),
        (what.resolution, held.resolution, "number of digits"),
    ):
        if now != was:
            return f"it has another {name}"
    return ""


def _out_of_time(state: State, channel: str | None, at_us: int, before_us: int | None) -> str:
    held_us, least_us = held_in(state).at_us, least_interval_us(state)
    last = state.arrivals.get(channel)
    came_us = [held_us, before_us or held_us, held_us if last is None else last.at_us]
    gap_us = at_us - max(came_us)
    if gap_us < least_us:
        gap = seconds(max(gap_us, 0), least_us)
        return f"it came {gap} after the one before, too soon"
    if at_us - held_us > LONGEST_US:
        return f"it came more than {LONGEST_S} s after that"
    return ""


def _far(state: State, what: Sent) -> str:
    now, was = sent_mm(what), sent_mm(held_in(state).event.sent)
    if now is None or was is None:
        return "it is no length"
    step_mm, step = to_mm(Decimal(what.resolution), what.unit), f"{what.resolution} {what.unit}"
    known = _known_step(state)
    if known is not None and known.mm > step_mm:
        step_mm, step = known.mm, str(known)
    if EXACT.subtract(now, was).copy_abs() <= EXACT.multiply(step_mm, Decimal(MOST_STEPS)):
        return ""
    return f"it is more than two steps of {step} away"


def _known_step(state: State) -> Length | None:
    """The gauge's step as told for this run, else by its file."""
    if state.setup.step is not None:
        return parse_length(state.setup.step)
    return None if state.gauge is None else state.gauge.resolution
