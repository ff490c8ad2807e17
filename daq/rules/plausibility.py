"""Why a reading is not believed without asking. Pure."""

from decimal import Decimal

import msgspec

from daq.lengths import EXACT, plain
from daq.record.events import (
    Sent,
)
from daq.record.state import (
    State,
    next_position,
    phase,
    sent_mm,
)
from drivers.dialects.codec import REPEAT
from drivers.reading import LATE

ZERO_FLAGS = frozenset({"zeroed", "re-zeroed", "rezeroed", "preset", "power-lost"})

"""Status names by which a gauge says that its zero is not what it was. Chosen by us."""


HOLD_FLAGS = frozenset({"hold", "held", "frozen"})
"""Status names by which a gauge says that it shows a value of before. Chosen by us."""


def zero_lost(state: State, flags: tuple[str, ...]) -> list[str]:
    """The flags by which the gauge says that its zero is not what this stint began with, sorted."""
    stint = state.stint
    if stint is None or stint.unit is None:  # its before-check has not begun
        return []
    return sorted(ZERO_FLAGS.intersection(flags) - set(stint.flags))


def doubts_about(state: State, what: Sent) -> list[str]:
    """Why a reading is not believed without asking, in words; empty if it is."""
    stint = state.stint
    assert stint is not None
    mm = sent_mm(what)
    if mm is None:
        return [f"its unit {what.unit or 'none'!r} is not a length"]
    doubts = []
    if stint.unit is not None and what.unit != stint.unit:
        doubts.append(f"its unit is {what.unit}, this stint began in {stint.unit}")
    elif stint.resolution is not None and what.resolution != stint.resolution:
        doubts.append(
            f"its resolution is {what.resolution}, this stint began with {stint.resolution}: "
            "a digit may be lost"
        )
    if stint.unit is not None and what.channel != stint.channel:
        doubts.append(other_device(what, stint.channel))
    if REPEAT in what.flags:
        doubts.append("it came so soon after the same value that the button may have been held")
    if LATE in what.flags:
        doubts.append("it came after its time was up, so it may answer an earlier press")
    if HOLD_FLAGS.intersection(what.flags):
        doubts.append("the gauge is on hold, so it may show an old value")
    doubts.extend(_range_doubt(state, mm))
    doubts.extend(_window_doubt(state, what, mm))
    return doubts


def other_device(what: Sent, channel: str | None) -> str:
    return (
        f"it is from another device: channel {what.channel or 'none'}, this stint began with "
        f"channel {channel or 'none'}; keep means that the gauge was swapped: this one is not "
        "used, and a new stint begins"
    )


def _range_doubt(state: State, mm: Decimal) -> list[str]:
    reach = state.gauge.range if state.gauge is not None else None
    if reach is None or reach[0].mm <= mm <= reach[1].mm:
        return []
    return [f"it lies outside the gauge's range of {reach[0]} to {reach[1]}"]


class _Target(msgspec.Struct, frozen=True):
    """What a size is expected near to: limits in mm, how far outside is believed, and in words."""

    low: Decimal
    high: Decimal
    window: Decimal
    words: str


def _target(state: State) -> _Target:
    following = next_position(state)
    if phase(state) is None and following is not None:
        journal = state.job.journals[following.journal]
        low, high = journal.limits.low.mm, (journal.limits.high or journal.limits.low).mm
        return _Target(low, high, journal.window.mm, f"the limits of {journal.name}")
    assert state.stint is not None
    size = state.stint.size
    return _Target(size.mm, size.mm, state.plan.default_window.mm, f"the stack of {size}")


def _is_outside(target: _Target, mm: Decimal) -> bool:
    low = EXACT.subtract(target.low, target.window)
    return not low <= mm <= EXACT.add(target.high, target.window)


def is_expected(state: State, mm: Decimal) -> bool:
    """Near enough to what is asked for now to be that."""
    return not _is_outside(_target(state), mm)


def looks_like_deviation(state: State, what: Sent) -> bool:
    """A number near zero where a size is expected: refused, whatever is answered."""
    mm, target = sent_mm(what), _target(state)
    return mm is not None and _is_outside(target, mm) and mm.copy_abs() <= target.window


def _window_doubt(state: State, what: Sent, mm: Decimal) -> list[str]:
    target = _target(state)
    if looks_like_deviation(state, what):
        return [
            f"it looks like a deviation, not a size near {target.words}: set the gauge to show the "
            "size"
        ]
    if _is_outside(target, mm):
        return [f"it lies more than {plain(target.window)} mm outside {target.words}"]
    return []
