"""What a gauge's history keeps, and its lines: records to bytes and back. Pure.

A line is BODY + `,"chain":"` + 64 hex digits + `"}`, as in a ledger. BODY begins with `n` (from 1),
`at` and `after`, the 64 digits of the line before, so that each line can be proven by itself: when
one is damaged, those behind it still stand. Numbers are decimal text in millimetres.
"""

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import TypeAlias

import msgspec

from daq.records.chain import START, sealed, unsealed
from daq.terms import EXACT
from drivers.reading import utc_text

PROVE = "prove"
"""The source of a check that was made outside any session."""

ADJUSTED, DUE, NOTE = "adjusted", "due", "note"
"""What a note is about."""


class Record(msgspec.Struct, frozen=True, tag_field="kind", kw_only=True, omit_defaults=False):
    """Base of all kinds."""


class Check(Record, frozen=True, tag="check"):
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


class Study(Record, frozen=True, tag="study"):
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


class Note(Record, frozen=True, tag="note"):
    """Words of the person who keeps the gauge. `about`: "adjusted" (the gauge is not the same as
    before: a new baseline begins), "due" (`text` is the date of the next check, YYYY-MM-DD) or
    "note".
    """

    about: str
    text: str
    gauge: str = ""
    device: str = ""
    program: str = ""


AnyRecord: TypeAlias = Check | Study | Note


class Line(msgspec.Struct, frozen=True):
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
    lines: tuple[Line, ...] = ()
    faults: tuple[str, ...] = ()
    is_end_lost: bool = False

    @property
    def checks(self) -> tuple[tuple[int, Check], ...]:
        """Time (microseconds UTC) and check, in order of time."""
        return tuple((e.at_us, e.record) for e in self.lines if isinstance(e.record, Check))

    @property
    def studies(self) -> tuple[tuple[int, Study], ...]:
        """Time and study, in order of time."""
        return tuple((e.at_us, e.record) for e in self.lines if isinstance(e.record, Study))

    @property
    def notes(self) -> tuple[tuple[int, Note], ...]:
        """Time and note, in order of time."""
        return tuple((e.at_us, e.record) for e in self.lines if isinstance(e.record, Note))

    @property
    def study(self) -> Study | None:
        """The last study kept since the gauge was last adjusted; None if there is none."""
        since = max((at for at, note in self.notes if note.about == ADJUSTED), default=None)
        kept = [s for at, s in self.studies if since is None or at >= since]
        return kept[-1] if kept else None


class Found(msgspec.Struct, frozen=True):
    """What a history file holds. `lines` are proven, in the order of the file; `faults` says for
    people what is not, with line numbers. `after` is the digest that the next line follows, `n` its
    number. `whole_bytes` reach to the end of the last whole line; `torn` is a half line behind it,
    `lacks_lf` says that the last line is whole but for its line feed; `is_end_lost`
    that the newest line cannot be read.
    """

    lines: tuple[Line, ...] = ()
    faults: tuple[str, ...] = ()
    n: int = 1
    after: str = START
    whole_bytes: int = 0
    torn: bytes = b""
    lacks_lf: bool = False
    is_end_lost: bool = False


class _Head(msgspec.Struct):
    n: int
    at: str
    after: str


class _Kind(msgspec.Struct):
    kind: str = ""


_EPOCH, _MICROSECOND = datetime(1970, 1, 1, tzinfo=UTC), timedelta(microseconds=1)
_ENCODER = msgspec.json.Encoder()
_RECORD = msgspec.json.Decoder(AnyRecord)
_HEAD = msgspec.json.Decoder(_Head)
_KIND = msgspec.json.Decoder(_Kind)
_DIGEST = re.compile(r"[0-9a-f]{64}", re.ASCII)
_KNOWN = ("check", "study", "note")


def line_of(n: int, at_us: int, record: AnyRecord, after: str) -> tuple[bytes, str]:
    """A record as a whole line without LF, and its digest."""
    body = b'{"n":%d,"at":"%s","after":"%s",' % (n, utc_text(at_us).encode(), after.encode())
    return sealed(body + _ENCODER.encode(record)[1:-1], after)


def found_in(data: bytes) -> Found:
    """Read a history file's bytes; never raises, what cannot be used is named in `faults`."""
    *whole, last = data.split(b"\n")
    lines: list[Line] = []
    faults: list[str] = []
    after, n, number, is_broken = START, 1, 0, False
    torn, lacks_lf = b"", False
    if last:
        head = _head(last)
        if head is not None and unsealed(last, head.after) is not None:
            whole, lacks_lf = [*whole, last], True
        else:
            torn = last
    for number, raw in enumerate(whole, 1):
        head = _head(raw)
        digest = None if head is None else unsealed(raw, head.after)
        if head is None or digest is None:
            faults.append(f"line {number} is damaged: it is not used")
            is_broken = True
            continue
        if head.after != after and not is_broken:
            faults.append(f"before line {number} something is missing or out of order")
        is_broken, after, n = False, digest, head.n + 1
        try:
            record = _RECORD.decode(raw)
            check_numbers(record)
            lines.append(Line(head.n, _micros(head.at), record))
        except (ValueError, RecursionError) as error:
            faults.append(_not_read(raw, number, error))
    if torn:
        faults.append(f"behind line {number} lies a half line of {len(torn)} bytes: it is not used")
    whole_bytes, is_end_lost = len(data) - len(torn), is_broken or bool(torn)
    return Found(tuple(lines), tuple(faults), n, after, whole_bytes, torn, lacks_lf, is_end_lost)


AHEAD_US = 3_600_000_000
"""Stamped later than now by this much, a line was written by a wrong clock. Chosen by us."""


def in_order(lines: Sequence[Line], now_us: int) -> tuple[tuple[Line, ...], tuple[str, ...]]:
    """Lines by time, and words about those whose time is still to come.

    Such a line counts at its place in the file: at the time of the line behind it, else now. Its
    own would put it behind everything for years.
    """
    sane, faults, behind = [], [], now_us
    for line in reversed(lines):
        if line.at_us > now_us + AHEAD_US:
            faults.append(
                f"line {line.n} is dated {utc_text(line.at_us)[:10]}, which is still to come: the "
                "clock was wrong then; it counts at its place in the file"
            )
            line = msgspec.structs.replace(line, at_us=behind)  # noqa: PLW2901 - the same line
        behind = min(behind, line.at_us)
        sane.append(line)
    sane.reverse()  # equal times stay in the order of the file
    return tuple(sorted(sane, key=lambda line: line.at_us)), tuple(reversed(faults))


_NUMBER = re.compile(r"-?\d{1,9}(\.\d{1,12})?", re.ASCII)


def check_numbers(record: AnyRecord) -> None:
    """Raises ValueError for a record whose texts are not the numbers that they must be."""
    if isinstance(record, Check):
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
    elif isinstance(record, Study):
        texts = [record.repeatability_mm, record.repeatability_dof]
        above = [record.repeatability_dof]
    else:
        return
    for text in texts:
        if not _NUMBER.fullmatch(text):
            raise ValueError(f"{text[:40]!r} is no number")
    if any(Decimal(text) <= 0 for text in above):
        raise ValueError("a size, a step or degrees of freedom not above zero")
    if isinstance(record, Study) and Decimal(record.repeatability_mm) < 0:
        raise ValueError("a negative standard deviation")


def _micros(text: str) -> int:
    """The inverse of `utc_text`, quick, as a history holds thousands; ValueError if it is none."""
    moment = datetime.fromisoformat(text)
    micros = 0 if moment.tzinfo is None else (moment - _EPOCH) // _MICROSECOND
    if utc_text(micros) != text:
        raise ValueError(f"not a UTC time with six decimals: {text!r}")
    return micros


def _head(raw: bytes) -> _Head | None:
    try:
        head = _HEAD.decode(raw)
    except (ValueError, RecursionError):  # also bytes that are no UTF-8, and endless nesting
        return None
    return head if _DIGEST.fullmatch(head.after) else None


def _not_read(raw: bytes, number: int, error: Exception) -> str:
    """A line that is as it was written, but not for this program."""
    try:
        kind = _KIND.decode(raw).kind
    except ValueError:
        kind = ""
    if kind not in _KNOWN:
        shown = "".join(c if c.isprintable() else "?" for c in kind[:40])
        return f"line {number} is of kind {shown!r}, which this program does not know: left out"
    return f"line {number} is not a {kind} of this format ({error}): left out"


def key_of(record: AnyRecord) -> object | None:
    """What may stand in a history only once: a session's check, the same study; None for others."""
    match record:
        case Check() if record.source != PROVE:
            return ("check", record.source, record.check_no)
        case Study():
            return record
        case _:
            return None
