"""What can happen in a session: one record per kind of ledger line. Nothing is edited or removed.

Numbers are decimal text, as in the file. `seq` and `at` belong to the line, not to the event.
"""

from typing import Literal, TypeAlias

import msgspec

from daq.equipment.gauge import BY_HAND, TYPED_PORT
from daq.lengths import Position
from daq.record.results import GroupResult, JournalResult

FORMAT = 1
"""The ledger format that this program writes."""

RULES = 3
"""The rule set by which this program judges. 1: the guard was the check's permitted error. 2: the
guard was the expanded uncertainty, sizes were stated at 20 degrees Celsius. 3: the estimate, less
the gauge's error on the stack, is held to a confidence; the mean error is judged in the
before-check alone, in later ones drift and spread."""


class Event(
    msgspec.Struct, frozen=True, tag_field="kind", kw_only=True, omit_defaults=False, gc=False
):
    """Base of all kinds; each is named in the past tense. What is of words and numbers alone can
    hold no circle: `gc=False` spares the collector from looking at each of thousands.
    """


class Temperatures(msgspec.Struct, frozen=True):
    """Degrees Celsius as decimal text, empty where not given."""

    part: str = ""
    gauge: str = ""
    stack: str = ""


class GaugeSource(msgspec.Struct, frozen=True):
    """The gauge on its port: what it is called, what it is and where it is plugged in."""

    gauge: str
    device: str
    serial: str | None
    port: str


class Repeatability(msgspec.Struct, frozen=True):
    """What is known of a gauge from before: a standard deviation in mm, its degrees of freedom and
    where it comes from. Of one reading by a gauge study, of the drift in one stint by the history.
    """

    sd_mm: str
    dof: str
    source: str


class Setup(msgspec.Struct, frozen=True):
    """What a run measures with: full texts, so that nothing outside the ledger is needed again.
    `stack_files` holds the files of the saved stacks by name, `study` the gauge's kept study.
    `step`: the gauge's true step, a length with its unit, where it is told that it is not one unit
    of the last digit. `drift`: by the gauge's own history, how far one stint's drift scatters.
    `ground_to`: the undersizes that the part was ground to, "GROUP=NAME", or "NAME" in every group
    that has it.
    """

    source: GaugeSource
    profile: str
    gauge_file: str | None
    only: tuple[str, ...]
    stack: str | None
    saved_stacks: dict[str, str]
    temperatures: Temperatures
    local_offset: str
    stack_files: dict[str, str] = {}
    study: Repeatability | None = None
    step: str | None = None
    drift: Repeatability | None = None
    ground_to: tuple[str, ...] = ()


def is_by_hand(setup: Setup) -> bool:
    """A person reads the gauge of this run and types its values."""
    return setup.source.port == TYPED_PORT and f'\nid = "{BY_HAND}"\n' in setup.profile


class Opened(Event, frozen=True, tag="opened"):
    """The first line."""

    format: int
    program: str
    rules: int
    session: str
    job: str
    part: str
    operator: str
    plan_name: str
    plan: str
    setup: Setup


class StintBegan(Event, frozen=True, tag="stint"):
    """A gauge and a stack wait for their before-check; what was before is over. `cause` is one of
    first, over, stack, check-failed, age, swapped, power-loss, temperature.
    """

    stint: int
    source: GaugeSource
    stack: str
    stack_size: str
    cause: str
    why: str


class Sent(msgspec.Struct, frozen=True, gc=False):
    """What the gauge sent."""

    value: str
    unit: str
    resolution: str
    channel: str | None
    flags: tuple[str, ...]
    raw_hex: str


By: TypeAlias = Literal["keyboard", "board", "send key", "program"]
"""Where an operator's word came from: typed, pressed on the page at the bench, a bound key of a
button device, or a program in the operator's place.
"""


class CheckTag(msgspec.Struct, frozen=True, gc=False):
    """A reading of the stack: in which check."""

    check_no: int
    phase: str


class CheckRead(Event, frozen=True, tag="check_reading"):
    """A reading of the stack."""

    stint: int
    check_no: int
    phase: str
    sent: Sent


class CheckJudged(Event, frozen=True, tag="check_judged"):
    """A whole check with its judgement; lengths in mm, `drift_mm` empty for a before-check."""

    stint: int
    check_no: int
    phase: str
    stack_size_mm: str
    readings: int
    mean_error_mm: str
    spread_mm: str
    drift_mm: str
    max_error_mm: str
    max_spread_mm: str
    max_drift_mm: str
    passed: bool
    reason: str


class Read(Event, frozen=True, tag="reading"):
    """A reading at a position."""

    stint: int
    place: Position
    sent: Sent


class Held(Event, frozen=True, tag="held"):
    """A reading that is not believed without asking; it counts nowhere until it is kept."""

    stint: int
    reasons: tuple[str, ...]
    sent: Sent


class Kept(Event, frozen=True, tag="kept"):
    """The held reading of line `held` counts, as if it had come unasked: at `check` or `place`.

    `by`, here and below: where an operator's word came from (By), empty where no word led to it.
    """

    held: int
    stint: int
    check: CheckTag | None = None
    place: Position | None = None
    by: str = ""


class Dropped(Event, frozen=True, tag="dropped"):
    """The held reading of line `held` does not count.

    `count` over 1: so many readings in a row, held and dropped as they came, told as one line; then
    `held` is 0, and what the first and the last of them sent is here. `channel` is the last's.
    """

    held: int
    why: str
    count: int = 1
    raw_hex: str = ""
    last_raw_hex: str = ""
    channel: str | None = None
    by: str = ""


class Voided(Event, frozen=True, tag="void"):
    """The reading or skip of line `target` no longer stands."""

    target: int
    why: str
    by: str = ""


class Skipped(Event, frozen=True, tag="skip"):
    """A position is left out."""

    place: Position
    reason: str
    by: str = ""


class Noted(Event, frozen=True, tag="note"):
    """Words of the operator; `about` says with which command they came, `link` that the gauge's
    link met something, `despite-history` why a gauge out of control is used.
    """

    about: str
    text: str
    by: str = ""


class Zeroed(Event, frozen=True, tag="zeroed"):
    """The gauge was re-zeroed: its stint is over."""

    stint: int
    why: str
    by: str = ""


class Rejected(Event, frozen=True, tag="reject"):
    """Bytes that gave no reading; `count` over 1: so many in a row, the first and last shown."""

    code: str
    detail: str
    raw_hex: str
    skipped: int
    flags: tuple[str, ...]
    count: int = 1
    last_raw_hex: str = ""


class LinkLost(Event, frozen=True, tag="link_lost"):
    """The port is gone."""

    reason: str


class LinkBack(Event, frozen=True, tag="link_back"):
    """A port is open again after a loss."""

    source: GaugeSource


class Resumed(Event, frozen=True, tag="resumed"):
    """Another run carries on. `torn_bytes`: size of the half line that was set aside, and where."""

    program: str
    rules: int
    setup: Setup
    same_gauge: str | None
    torn_bytes: int
    torn_file: str


class Closed(Event, frozen=True, tag="closed"):
    """The last line: verdict, reasons and every journal's verdict with its numbers."""

    program: str
    rules: int
    verdict: str
    reasons: tuple[str, ...]
    journals: tuple[JournalResult, ...]
    groups: tuple[GroupResult, ...] = ()


AnyEvent: TypeAlias = (
    Opened
    | StintBegan
    | CheckRead
    | CheckJudged
    | Read
    | Held
    | Kept
    | Dropped
    | Voided
    | Skipped
    | Noted
    | Zeroed
    | Rejected
    | LinkLost
    | LinkBack
    | Resumed
    | Closed
)


class Entry(msgspec.Struct, frozen=True, gc=False):
    """An event with its place in the ledger: `seq` from 1, `at_us` microseconds UTC."""

    seq: int
    at_us: int
    event: AnyEvent
