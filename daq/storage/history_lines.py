"""The lines of a gauge's history: records to bytes and back. Pure.

They are chained as a ledger's are. BODY begins with `n` (from 1), `at` and `after`, the 64 digits
of the line before, so that each line can be proven by itself: when one is damaged, those behind it
still stand.
"""

import re
from datetime import UTC, datetime, timedelta

import msgspec

from daq.gauges.history import AnyRecord, HistoryLine, check_numbers
from daq.storage.chain import START, FileEnd, ending, headed, sealed, unsealed
from drivers.printable import printable
from drivers.reading import utc_text


class Found(FileEnd, frozen=True):
    """What a history file holds. `lines` are proven, in the order of the file; `faults` says for
    people what is not, with line numbers. `after` is the digest that the next line follows, `n` its
    number; `is_end_lost` says that the newest line cannot be read.
    """

    lines: tuple[HistoryLine, ...]
    faults: tuple[str, ...]
    n: int
    after: str
    is_end_lost: bool


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
    head = b'{"n":%d,"at":"%s","after":"%s",' % (n, utc_text(at_us).encode(), after.encode())
    return sealed(headed(head, _ENCODER.encode(record)), after)


def found_in(data: bytes) -> Found:
    """Read a history file's bytes; never raises, what cannot be used is named in `faults`."""
    *whole, last = data.split(b"\n")
    lines: list[HistoryLine] = []
    faults: list[str] = []
    after, n, number, is_broken = START, 1, 0, False
    whole_bytes, torn, lacks_lf = ending(data, last, is_whole=_proven(last) is not None)
    if lacks_lf:
        whole.append(last)
    for number, raw in enumerate(whole, 1):
        proven = _proven(raw)
        if proven is None:
            faults.append(f"line {number} is damaged: it is not used")
            is_broken = True
            continue
        head, digest = proven
        if head.after != after and not is_broken:
            faults.append(f"before line {number} something is missing or out of order")
        is_broken, after, n = False, digest, head.n + 1
        try:
            record = _RECORD.decode(raw)
            check_numbers(record)
            lines.append(HistoryLine(head.n, _micros(head.at), record))
        except (ValueError, RecursionError) as error:
            faults.append(_not_read(raw, number, error))
    if torn:
        faults.append(f"behind line {number} lies a half line of {len(torn)} bytes: it is not used")
    is_end_lost = is_broken or bool(torn)
    return Found(whole_bytes, torn, lacks_lf, tuple(lines), tuple(faults), n, after, is_end_lost)


def _micros(text: str) -> int:
    """The inverse of `utc_text`, quick, as a history holds thousands; ValueError if it is none."""
    moment = datetime.fromisoformat(text)
    micros = 0 if moment.tzinfo is None else (moment - _EPOCH) // _MICROSECOND
    if utc_text(micros) != text:
        raise ValueError(f"not a UTC time with six decimals: {text!r}")
    return micros


def _proven(raw: bytes) -> tuple[_Head, str] | None:
    """The head and the digest of a line that its own digest proves; None of any other."""
    try:
        head = _HEAD.decode(raw)
    except (ValueError, RecursionError):  # also bytes that are no UTF-8, and endless nesting
        return None
    digest = unsealed(raw, head.after) if _DIGEST.fullmatch(head.after) else None
    return None if digest is None else (head, digest)


def _not_read(raw: bytes, number: int, error: Exception) -> str:
    """A line that is as it was written, but not for this program."""
    try:
        kind = _KIND.decode(raw).kind
    except ValueError:
        kind = ""
    if kind not in _KNOWN:
        shown = printable(kind[:40])
        return f"line {number} is of kind {shown!r}, which this program does not know: left out"
    return f"line {number} is not a {kind} of this format ({error}): left out"
