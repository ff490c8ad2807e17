"""Why a reading is not believed without asking: in a session, and on a stack outside any. Pure."""

from decimal import Decimal

import msgspec

from daq.equipment.gauge import Gauge
from daq.lengths import EXACT, Length, plain
from daq.record.events import Sent
from daq.record.state import State, next_position, phase, sent_mm, stint_in
from drivers.dialects.codec import REPEAT
from drivers.reading import LATE, Reading

ZERO_FLAGS = frozenset({"zeroed", "re-zeroed", "rezeroed", "preset", "power-lost"})
"""Status names by which a gauge says that its zero is not what it was. Chosen by us."""

HOLD_FLAGS = frozenset({"hold", "held", "frozen"})
"""Status names by which a gauge says that it shows a value of before. Chosen by us."""

SWAPPED = "; keep means that the gauge was swapped: this one is not used, and it is checked first"

ANSWER = "type drop, "
"""What is to be done before the next press, in a session."""

HELD_BUTTON = "it came so soon after the same value that the button may have been held"

_UNIT_NAMES = {"mm": "mm", "in": "inch", "um": "micrometres"}


class Began(msgspec.Struct, frozen=True):
    """What the first reading of a stint was like, or of a check outside any session. All that comes
    later is held against it.
    """

    unit: str
    resolution: str
    channel: str | None
    flags: tuple[str, ...]


class Target(msgspec.Struct, frozen=True):
    """What a size is expected near to: limits in mm and how far outside them is believed. `near`
    and `beyond` say it: "a size NEAR", "it lies more than 0.5 mm BEYOND".
    """

    low: Decimal
    high: Decimal
    window: Decimal
    near: str
    beyond: str

    @property
    def least(self) -> Decimal:
        """The smallest size in mm that is believed."""
        return EXACT.subtract(self.low, self.window)

    @property
    def most(self) -> Decimal:
        """The largest."""
        return EXACT.add(self.high, self.window)


class Expected(msgspec.Struct, frozen=True):
    """What a reading is held against: how it began (None: it is the first), where the size is
    expected, and the gauge's file. `swapped` is said of another device behind what it is, `answer`
    of what is to be typed before the next press.
    """

    began: Began | None
    target: Target
    gauge: Gauge | None
    swapped: str = ""
    answer: str = ""


def sent(reading: Reading) -> Sent:
    """A reading as a record keeps it."""
    return Sent(
        value=plain(reading.value),
        unit=reading.unit,
        resolution=plain(reading.resolution),
        channel=reading.channel,
        flags=reading.flags,
        raw_hex=reading.raw.hex(),
    )


def doubts(what: Sent, expected: Expected) -> list[str]:
    """Why a reading is not believed, in words; empty if it is."""
    mm = sent_mm(what)
    if mm is None:
        return [f"its unit {what.unit or 'none'!r} is not a length"]
    began = expected.began
    return [
        *([] if began is None else _unlike(what, began, expected)),
        *_flagged(what),
        *_out_of_reach(mm, expected.gauge),
        *_far(mm, expected.target),
    ]


def _unlike(what: Sent, began: Began, expected: Expected) -> list[str]:
    said = []
    if what.unit != began.unit:
        is_on, was = (_UNIT_NAMES.get(unit, unit) for unit in (what.unit, began.unit))
        said.append(f"The gauge is on {is_on}. Set it to {was}, {expected.answer}press again")
    elif what.resolution != began.resolution:
        said.append(
            f"its last digit is {what.resolution}, before it was {began.resolution}: "
            "a digit may be lost"
        )
    if what.channel != began.channel:
        said.append(_another_device(what, began) + expected.swapped)
    return said


def _another_device(what: Sent, began: Began) -> str:
    is_now, was = what.channel or "none", began.channel or "none"
    return f"it is from another device: channel {is_now}, before it was {was}"


def _flagged(what: Sent) -> list[str]:
    said = []
    if REPEAT in what.flags:
        said.append(HELD_BUTTON)
    if LATE in what.flags:
        said.append("it came after its time was up, so it may answer an earlier press")
    if HOLD_FLAGS.intersection(what.flags):
        said.append("the gauge is on hold, so it may show an old value")
    return said


def _out_of_reach(mm: Decimal, gauge: Gauge | None) -> list[str]:
    reach = gauge.range if gauge is not None else None
    if reach is None or reach[0].mm <= mm <= reach[1].mm:
        return []
    return [f"it lies outside the gauge's range of {reach[0]} to {reach[1]}"]


def _far(mm: Decimal, target: Target) -> list[str]:
    if not is_outside(mm, target):
        return []
    if mm.copy_abs() <= target.window:
        return [
            f"it looks like a deviation, not a size{target.near}: set the gauge to show the size"
        ]
    return [f"it lies more than {plain(target.window)} mm {target.beyond}"]


def is_outside(mm: Decimal, target: Target) -> bool:
    """Too far from what is expected to be that."""
    return not target.least <= mm <= target.most


def new_zero(flags: tuple[str, ...], began: Began | None) -> list[str]:
    """The flags by which the gauge says that its zero is not what it was, sorted; none before the
    first reading.
    """
    return [] if began is None else sorted(ZERO_FLAGS.intersection(flags) - set(began.flags))


def at_stack(size: Length, window: Decimal, *, near: str, beyond: str) -> Target:
    """A stack as what is expected."""
    return Target(size.mm, size.mm, window, near, beyond)


# In a session ------------------------------------------------------------------------------------


def began_in(state: State) -> Began | None:
    """How the running stint began; None before the first reading of its before-check."""
    stint = state.stint
    if stint is None or stint.unit is None or stint.resolution is None:
        return None
    return Began(stint.unit, stint.resolution, stint.channel, stint.flags)


def expected_in(state: State) -> Expected:
    """What a reading would be held against now; a stint runs."""
    return Expected(began_in(state), _target(state), state.gauge, SWAPPED, ANSWER)


def _target(state: State) -> Target:
    following = next_position(state)
    if phase(state) is None and following is not None:
        journal = state.scope.journals[following.journal]
        low, high = journal.limits.low.mm, (journal.limits.high or journal.limits.low).mm
        words = f"the limits of {journal.name}"
        return Target(low, high, journal.window.mm, f" near {words}", f"outside {words}")
    size = stint_in(state).size
    words = f"the stack of {size}"
    window = state.plan.default_window.mm
    return at_stack(size, window, near=f" near {words}", beyond=f"outside {words}")


def zero_lost(state: State, flags: tuple[str, ...]) -> list[str]:
    """The flags by which the gauge says that its zero is not what this stint began with, sorted."""
    return new_zero(flags, began_in(state))


def doubts_about(state: State, what: Sent) -> list[str]:
    """Why a reading is not believed without asking, in words; empty if it is."""
    return doubts(what, expected_in(state))


def other_device(what: Sent, state: State) -> str:
    """Why a kept reading of another device means a swapped gauge; empty for the stint's own."""
    began = began_in(state)
    if began is None or what.channel == began.channel:
        return ""
    return _another_device(what, began) + SWAPPED


def is_expected(state: State, mm: Decimal) -> bool:
    """Near enough to what is asked for now to be that."""
    return not is_outside(mm, _target(state))


def looks_like_deviation(state: State, what: Sent) -> bool:
    """A number near zero where a size is expected: refused, whatever is answered."""
    mm, target = sent_mm(what), _target(state)
    return mm is not None and is_outside(mm, target) and mm.copy_abs() <= target.window
