"""The lines of a gauge's history: records to bytes and back. Pure.

A line is BODY + `,"chain":"` + 64 hex digits + `"}`, as in a ledger. BODY begins with `n` (from 1),
`at` and `after`, the 64 digits of the line before, so that each line can be proven by itself: when
one is damaged, those behind it still stand.
"""

import re
from datetime import UTC, datetime, timedelta

import msgspec

from daq.gauges.history import AnyRecord, HistoryLine, check_numbers
from daq.storage.chain import START, sealed, unsealed
from drivers.reading import utc_text


class Found(msgspec.Struct, frozen=True):
    """What a history file holds. `lines` are proven, in the order of the file; `faults` says for
    people what is not, with line numbers. `after` is the digest that the next line follows, `n` its
    number. `whole_bytes` reach to the end of the last whole line; `torn` is a half line behind it,
    `lacks_lf` says that the last line is whole but for its line feed; `is_end_lost`
    that the newest line cannot be read.
    """

    lines: tuple[HistoryLine, ...] = ()
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
    lines: list[HistoryLine] = []
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
            lines.append(HistoryLine(head.n, _micros(head.at), record))
        except (ValueError, RecursionError) as error:
            faults.append(_not_read(raw, number, error))
    if torn:
        faults.append(f"behind line {number} lies a half line of {len(torn)} bytes: it is not used")
    whole_bytes, is_end_lost = len(data) - len(torn), is_broken or bool(torn)
    return Found(tuple(lines), tuple(faults), n, after, whole_bytes, torn, lacks_lf, is_end_lost)


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
