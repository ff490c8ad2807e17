"""Which readings of the stack count when a gauge is proven outside a session. Pure.

The doubts are those of a session; what differs is that nobody is asked: a doubted reading does not
count.
"""

from decimal import Decimal

import msgspec

from daq.equipment.gauge import Gauge
from daq.equipment.stacks.stack_file import Stack
from daq.lengths import MM_PER, Length, plain
from daq.plan.method import IntervalPlan
from daq.record.events import Sent
from daq.record.state import STACK, Arrival, sent_mm
from daq.rules.commands import Why
from daq.rules.interval import MOST_SOON, UNASKED, soon_words, stream_words
from daq.rules.plausibility import (
    Began,
    Expected,
    Target,
    at_stack,
    doubts,
    is_outside,
    new_zero,
    sent,
)
from daq.rules.steps import step_fault
from daq.rules.typed_value import TypedAt, typed_at
from drivers.reading import LATE, Reading

WINDOW_MM = Decimal("0.5")
"""How far from the stack a reading may lie and still be believed; as a plan's usual window."""

MOST_DOUBTED = 10
"""So many readings in a row that do not count end the check, as in a session without a keyboard."""


class CheckWanted(msgspec.Struct, frozen=True):
    """What is to be proven: a gauge on a stack, by so many readings, within limits. `max_spread`
    None: derived from the permitted error and the gauge's step. `step`: as told, if it was. The
    least time from one reading to the next is `intervals`', as in a session. `is_by_hand`: a person
    reads the gauge and types its values.
    """

    stack: Stack
    stack_word: str
    readings: int
    max_error: Length
    max_spread: Length | None
    gauge: Gauge | None = None
    step: Length | None = None
    intervals: IntervalPlan = IntervalPlan()
    is_by_hand: bool = False


class StackReadings(msgspec.Struct, frozen=True):
    """The readings so far, in order, how many in a row did not count, and the last that came by
    each channel, whatever became of it.
    """

    readings: tuple[Reading, ...] = ()
    doubted: int = 0
    arrivals: dict[str | None, Arrival] = {}

    def without(self, count: int) -> "StackReadings":
        """The last `count` of them taken back; what came stays known."""
        kept = self.readings[: len(self.readings) - count]
        return StackReadings(kept, self.doubted, self.arrivals)

    @property
    def is_stream(self) -> bool:
        """The readings that came last came too soon for a hand."""
        last = max(self.arrivals.values(), key=lambda each: each.at_us, default=None)
        return last is not None and last.soon >= MOST_SOON


class Said(msgspec.Struct, frozen=True):
    """What became of a reading: the readings now, and words where it does not count or something
    else must be told.
    """

    taken: StackReadings
    words: str = ""


def take(
    taken: StackReadings, reading: Reading, wanted: CheckWanted, why: Why = "sent", aside: str = ""
) -> Said:
    """One more reading, and why it came; one that is `aside` cannot count, for the reason given."""
    soon = _too_soon(taken, reading, wanted) if why in ("sent", "unasked") else []
    arrivals = taken.arrivals | {reading.channel: _arrival(taken, reading, wanted)}
    lost = zero_lost(taken, reading)
    if lost:
        return Said(
            StackReadings((), taken.doubted, arrivals),
            f"the gauge says {', '.join(lost)}: it lost its zero, so the check begins again",
        )
    expected = Expected(_began(taken), _target(wanted), wanted.gauge)
    unasked = [UNASKED] if why == "unasked" and LATE not in reading.flags else []
    doubted = [*doubts(sent(reading), expected), *_not_of_step(reading, wanted)]
    said = [aside] if aside else [*soon, *unasked, *doubted]
    if said:
        words = f"{plain(reading.value)} {reading.unit} does not count: {'; '.join(said)}"
        return Said(StackReadings(taken.readings, taken.doubted + 1, arrivals), words)
    return Said(StackReadings((*taken.readings, reading), 0, arrivals))


def typed_on_stack(taken: StackReadings, wanted: CheckWanted) -> TypedAt:
    """What is known where a value is typed."""
    gauge = wanted.gauge
    step = wanted.step or (gauge.resolution if gauge is not None else None)
    return typed_at(_began(taken), _target(wanted), step, [wanted.stack.size.unit], None)


def least_us(taken: StackReadings, wanted: CheckWanted) -> int:
    """How soon after another a reading may come by now."""
    return wanted.intervals.in_check_us if taken.readings else wanted.intervals.else_us


def _soon(taken: StackReadings, reading: Reading, wanted: CheckWanted) -> int:
    """How many in a row came too soon, with this one; 0 if it did not."""
    last = taken.arrivals.get(reading.channel)
    is_soon = last and 0 <= reading.at.utc_us - last.at_us < least_us(taken, wanted)
    return last.soon + 1 if last and is_soon else 0


def _too_soon(taken: StackReadings, reading: Reading, wanted: CheckWanted) -> list[str]:
    soon = _soon(taken, reading, wanted)
    if not soon:
        return []
    last = taken.arrivals[reading.channel]
    question = soon_words(reading.at.utc_us, last, least_us(taken, wanted))
    return [question, *stream_words(soon)]


def _arrival(taken: StackReadings, reading: Reading, wanted: CheckWanted) -> Arrival:
    return Arrival(reading.at.utc_us, STACK, _soon(taken, reading, wanted))


def _not_of_step(reading: Reading, wanted: CheckWanted) -> list[str]:
    if wanted.step is None or reading.unit not in MM_PER:
        return []
    fault = step_fault(wanted.step, reading.unit, reading.resolution)
    return [fault] if fault else []


def zero_lost(taken: StackReadings, reading: Reading) -> list[str]:
    """The flags by which a gauge says, after the first reading, that its zero is gone; sorted."""
    return new_zero(reading.flags, _began(taken))


def is_near(reading: Reading, wanted: CheckWanted) -> bool:
    """Near enough to the stack to be a reading of it."""
    mm = sent_mm(sent(reading))
    return mm is not None and not is_outside(mm, _target(wanted))


def _began(taken: StackReadings) -> Began | None:
    if not taken.readings:
        return None
    first: Sent = sent(taken.readings[0])
    return Began(first.unit, first.resolution, first.channel, first.flags)


def _target(wanted: CheckWanted) -> Target:
    size = wanted.stack.size
    return at_stack(size, WINDOW_MM, near="", beyond=f"from the stack of {size}")
