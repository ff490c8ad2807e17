"""Which readings of the stack count when a gauge is proven outside a session. Pure."""

from decimal import Decimal

import msgspec

from daq.equipment.gauge import Gauge
from daq.equipment.stacks.stack_file import Stack
from daq.lengths import EXACT, MM_PER, Length, plain, to_mm
from daq.rules.plausibility import HOLD_FLAGS, ZERO_FLAGS
from drivers.dialects.codec import REPEAT
from drivers.reading import LATE, Reading

WINDOW_MM = Decimal("0.5")
"""How far from the stack a reading may lie and still be believed; as a plan's usual window."""

MOST_DOUBTED = 10
"""So many readings in a row that do not count end the check, as in a session without a keyboard."""


class Wanted(msgspec.Struct, frozen=True):
    """What is to be proven: a gauge on a stack, by so many readings, within limits in mm."""

    stack: Stack
    stack_word: str
    readings: int
    max_error: Length
    max_spread: Length
    gauge: Gauge | None = None


class StackReadings(msgspec.Struct, frozen=True):
    """The readings so far, in order, and how many in a row did not count."""

    readings: tuple[Reading, ...] = ()
    doubted: int = 0


class Said(msgspec.Struct, frozen=True):
    """What became of a reading: the readings now, and words where it does not count or something
    else must be told.
    """

    taken: StackReadings
    words: str = ""


def take(taken: StackReadings, reading: Reading, wanted: Wanted) -> Said:
    """One more reading."""
    first = taken.readings[0] if taken.readings else None
    lost = zero_lost(taken, reading)
    if lost:
        return Said(
            StackReadings((), taken.doubted),
            f"the gauge says {', '.join(sorted(lost))}: its zero is not what it was, so the check "
            "begins again",
        )
    doubts = doubts_about(reading, first, wanted)
    if doubts:
        words = f"{plain(reading.value)} {reading.unit} does not count: {'; '.join(doubts)}"
        return Said(StackReadings(taken.readings, taken.doubted + 1), words)
    return Said(StackReadings((*taken.readings, reading), 0))


def zero_lost(taken: StackReadings, reading: Reading) -> frozenset[str]:
    """The flags by which a gauge says, after the first reading, that its zero is gone."""
    if not taken.readings:
        return frozenset()
    return ZERO_FLAGS.intersection(reading.flags) - set(taken.readings[0].flags)


def doubts_about(reading: Reading, first: Reading | None, wanted: Wanted) -> list[str]:
    """Why a reading does not count, in words; empty if it does."""
    if reading.unit not in MM_PER:
        return [f"its unit {reading.unit or 'none'!r} is not a length"]
    doubts = []
    if first is not None and reading.unit != first.unit:
        doubts.append(f"its unit is {reading.unit}, this check began in {first.unit}")
    elif first is not None and reading.resolution != first.resolution:
        doubts.append(
            f"its resolution is {plain(reading.resolution)}, this check began with "
            f"{plain(first.resolution)}: a digit may be lost"
        )
    if first is not None and reading.channel != first.channel:
        doubts.append(
            f"it is from another device: channel {reading.channel or 'none'}, this check began "
            f"with channel {first.channel or 'none'}"
        )
    if HOLD_FLAGS.intersection(reading.flags):
        doubts.append("the gauge is on hold, so it may show an old value")
    if REPEAT in reading.flags:
        doubts.append("it came so soon after the same value that the button may have been held")
    if LATE in reading.flags:
        doubts.append("it came after its time was up, so it may answer an earlier press")
    mm = to_mm(reading.value, reading.unit)
    reach = wanted.gauge.range if wanted.gauge is not None else None
    if reach is not None and not reach[0].mm <= mm <= reach[1].mm:
        doubts.append(f"it lies outside the gauge's range of {reach[0]} to {reach[1]}")
    doubts.extend(_far(mm, wanted))
    return doubts


def is_near(reading: Reading, wanted: Wanted) -> bool:
    """Near enough to the stack to be a reading of it."""
    return reading.unit in MM_PER and not _far(to_mm(reading.value, reading.unit), wanted)


def _far(mm: Decimal, wanted: Wanted) -> list[str]:
    size = wanted.stack.size
    if EXACT.subtract(mm, size.mm).copy_abs() <= WINDOW_MM:
        return []
    if mm.copy_abs() <= WINDOW_MM:
        return ["it looks like a deviation, not a size: set the gauge to show the size"]
    return [f"it lies more than {plain(WINDOW_MM)} mm from the stack of {size}"]
