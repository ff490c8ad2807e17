"""What a gauge's history keeps: records of checks, studies and notes, in order of time. Pure.

Numbers are decimal text in millimetres.
"""

import re
from collections.abc import Sequence
from decimal import Decimal
from hashlib import sha256
from typing import TypeAlias

import msgspec

from daq.lengths import EXACT
from drivers.reading import utc_text

PROVE = "prove"
"""The source of a check that was made outside any session."""

ADJUSTED, DUE, NOTE = "adjusted", "due", "note"
"""What a note is about."""


class HistoryRecord(
    msgspec.Struct, frozen=True, tag_field="kind", kw_only=True, omit_defaults=False
):
    """Base of all kinds."""


class CheckRecord(HistoryRecord, frozen=True, tag="check"):
    """A judged check: `source` is the session's id or "prove", `check_no` counts within it.

    `readings` are the values of the counted readings in mm, one or more; errors are value - stack.
    `stack_u_mm` is the standard uncertainty of the stack, empty if not known. Temperatures are
    degrees Celsius, empty where not given; `*_per_k` are the coefficients of expansion used for
    them. `max_drift_mm` and `drift_mm` are empty for a before-check and for prove.
    """

    source: str
    check_no: int
    stint: int
    phase: str
    gauge: str
    device: str
    stack: str
    stack_size_mm: str
    readings: tuple[str, ...]
    resolution_mm: str
    mean_error_mm: str
    spread_mm: str
    sd_mm: str
    max_error_mm: str
    max_spread_mm: str
    passed: bool
    reason: str
    drift_mm: str = ""
    max_drift_mm: str = ""
    stack_u_mm: str = ""
    stack_u_basis: str = ""
    gauge_temp_c: str = ""
    stack_temp_c: str = ""
    gauge_per_k: str = ""
    stack_per_k: str = ""
    operator: str = ""
    program: str = ""

    @property
    def errors(self) -> tuple[Decimal, ...]:
        """Value - stack size, mm, exactly, one per reading."""
        size = Decimal(self.stack_size_mm)
        return tuple(EXACT.subtract(Decimal(value), size) for value in self.readings)


class StudyRecord(HistoryRecord, frozen=True, tag="study"):
    """The result of a gauge study. Standard deviations in mm, degrees of freedom as decimal text;
    `source` is the session's id. `interaction` says what became of it, for people.
    """

    source: str
    gauge: str
    device: str
    repeatability_mm: str
    repeatability_dof: str
    reproducibility_mm: str
    reproducibility_dof: str = ""
    parts: int = 0
    operators: int = 0
    trials: int = 0
    interaction: str = ""
    size_mm: str = ""
    program: str = ""


class NoteRecord(HistoryRecord, frozen=True, tag="note"):
    """Words of the person who keeps the gauge. `about`: "adjusted" (the gauge is not the same as
    before: a new baseline begins), "due" (`text` is the date of the next check, YYYY-MM-DD) or
    "note".
    """

    about: str
    text: str
    gauge: str = ""
    device: str = ""
    program: str = ""


AnyRecord: TypeAlias = CheckRecord | StudyRecord | NoteRecord


class HistoryLine(msgspec.Struct, frozen=True):
    """A record with its place in the file: `n` from 1, `at_us` microseconds UTC."""

    n: int
    at_us: int
    record: AnyRecord


class History(msgspec.Struct, frozen=True):
    """A gauge's history as it lies on the disk. `lines` are proven and ordered by time; `faults`
    are words about what could not be used, `is_end_lost` says that the newest line is among it.
    """

    name: str
    path: str
    lines: tuple[HistoryLine, ...] = ()
    faults: tuple[str, ...] = ()
    is_end_lost: bool = False

    @property
    def checks(self) -> tuple[tuple[int, CheckRecord], ...]:
        """Time (microseconds UTC) and check, in order of time."""
        return tuple((e.at_us, e.record) for e in self.lines if isinstance(e.record, CheckRecord))

    @property
    def studies(self) -> tuple[tuple[int, StudyRecord], ...]:
        """Time and study, in order of time."""
        return tuple((e.at_us, e.record) for e in self.lines if isinstance(e.record, StudyRecord))

    @property
    def notes(self) -> tuple[tuple[int, NoteRecord], ...]:
        """Time and note, in order of time."""
        return tuple((e.at_us, e.record) for e in self.lines if isinstance(e.record, NoteRecord))

    @property
    def adjusted(self) -> tuple[int, ...]:
        """When the gauge was set anew, microseconds UTC, in order of time."""
        return tuple(at for at, note in self.notes if note.about == ADJUSTED)

    @property
    def age(self) -> int:
        """How often the gauge was adjusted: what was measured before was of another gauge."""
        return len(self.adjusted)

    @property
    def study(self) -> StudyRecord | None:
        """The last study kept since the gauge was last adjusted; None if there is none."""
        since = max(self.adjusted, default=None)
        kept = [s for at, s in self.studies if since is None or at >= since]
        return kept[-1] if kept else None


AHEAD_US = 3_600_000_000
"""Stamped later than now by this much, a line was written by a wrong clock. Chosen by us."""


def in_order(
    lines: Sequence[HistoryLine], now_us: int
) -> tuple[tuple[HistoryLine, ...], tuple[str, ...]]:
    """Lines by time, and words about those whose time is still to come.

    Such a line counts at its place in the file: at the time of the line behind it, else now. Its
    own would put it behind everything for years.
    """
    sane, faults, behind = [], [], now_us
    for line in reversed(lines):
        if line.at_us > now_us + AHEAD_US:
            faults.append(
                f"line {line.n} is dated {utc_text(line.at_us)[:10]}, which is still to come: "
                "the clock was wrong then. It counts where it stands in the file"
            )
            line = msgspec.structs.replace(line, at_us=behind)  # noqa: PLW2901 - the same line
        behind = min(behind, line.at_us)
        sane.append(line)
    sane.reverse()  # equal times stay in the order of the file
    return tuple(sorted(sane, key=lambda line: line.at_us)), tuple(reversed(faults))


_NUMBER = re.compile(r"-?\d{1,9}(\.\d{1,12})?", re.ASCII)


def check_numbers(record: AnyRecord) -> None:
    """Raises ValueError for a record whose texts are not the numbers that they must be."""
    if isinstance(record, CheckRecord):
        if not record.readings:
            raise ValueError("a check without readings")
        needed = (record.stack_size_mm, record.resolution_mm, record.mean_error_mm)
        given = (
            record.stack_u_mm,
            record.gauge_temp_c,
            record.stack_temp_c,
            record.gauge_per_k,
            record.stack_per_k,
        )
        texts = [*record.readings, *needed, *(text for text in given if text)]
        above = [record.stack_size_mm, record.resolution_mm]
    elif isinstance(record, StudyRecord):
        texts = [record.repeatability_mm, record.repeatability_dof]
        above = [record.repeatability_dof]
    else:
        return
    for text in texts:
        if not _NUMBER.fullmatch(text):
            raise ValueError(f"{text[:40]!r} is no number")
    if any(Decimal(text) <= 0 for text in above):
        raise ValueError("a size, a step or degrees of freedom not above zero")
    if isinstance(record, StudyRecord) and Decimal(record.repeatability_mm) < 0:
        raise ValueError("a negative standard deviation")


def key_of(record: AnyRecord) -> object | None:
    """What may stand in a history only once: a session's check, the same study; None for others."""
    match record:
        case CheckRecord() if record.source != PROVE:
            return ("check", record.source, record.check_no)
        case StudyRecord():
            return record
        case _:
            return None


_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,79}")
_NOBODY = re.compile(r"/dev/pts/\d+|loop://.*|typed:.*", re.DOTALL)
_UNSAFE = re.compile(r"[^A-Za-z0-9_-]+")


def history_name(gauge: str | None, device: str) -> str:
    """The history's file name without .jsonl: the gauge file's name if there is one, else "port-",
    the port's identity with everything unsafe turned into "_", and 8 digits of its SHA-256, so that
    two ports never share a file. Empty, which means no history, for a port that says nothing of
    the gauge behind it: a pseudo-terminal's number belongs to whichever program opens one next.
    """
    if gauge is None and _NOBODY.fullmatch(device):
        return ""
    if gauge is not None and _NAME.fullmatch(gauge):
        return gauge
    text = device if gauge is None else gauge
    safe = _UNSAFE.sub("_", text).strip("_")[:48] or "unnamed"
    return f"port-{safe}-{sha256(text.encode('utf-8', 'backslashreplace')).hexdigest()[:8]}"
