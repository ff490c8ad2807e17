"""Bytes to frames: start mark, end mark, fixed length or silence; memory bounded whatever comes.

What comes of bytes never depends on how they are cut, only on the bytes and on the silences between
them. So a frame is judged by its first fault: one whose payload has grown longer than `max_bytes`
is `overlong`, whether its end mark and tail come or stay away. `truncated` is only one that could
still have become a frame.

Pure: arrival times are arguments. Source of the rules: profile schema 1 (`drivers.profile`,
"Frames").
"""

import re
from itertools import takewhile
from typing import TypeAlias

import msgspec

from drivers.profile.frame_spec import FrameSpec
from drivers.reading import Instant

_LF = 0x0A
_MASK7 = bytes(byte & 0x7F for byte in range(256))


class Frame(msgspec.Struct, frozen=True, gc=False):
    """A whole frame. `payload`, `end` and `tail` are masked if the profile says so, `raw` never."""

    payload: bytes
    raw: bytes
    at: Instant
    end: bytes = b""
    tail: bytes = b""


class Flaw(msgspec.Struct, frozen=True, gc=False):
    """Bytes that make no frame: `truncated`, `overlong` or `noise`."""

    code: str
    raw: bytes
    at: Instant
    skipped: int = 0


Piece: TypeAlias = Frame | Flaw


class _Skip:
    """Bytes being passed over: the first `keep` are kept, the others counted."""

    __slots__ = ("at", "code", "keep", "raw", "said", "skipped")

    def __init__(self, code: str, at: Instant, keep: int) -> None:
        self.code = code
        self.at = at
        self.keep = keep
        self.raw = b""
        self.skipped = 0
        self.said = False

    def add(self, data: bytes) -> None:
        room = self.keep - len(self.raw)
        self.raw += data[:room]
        self.skipped += max(0, len(data) - max(room, 0))

    def flaw(self) -> Flaw:
        return Flaw(self.code, self.raw, self.at, self.skipped)


class Framer:
    """Cuts one gauge's byte stream into frames and flaws; made anew after every open."""

    def __init__(self, spec: FrameSpec) -> None:
        self._spec = spec
        self._idle_ns = spec.idle_ms * 1_000_000
        self._keep = spec.length or spec.max_bytes
        self._cr_at_once = spec.listed and b"\r" in spec.ends
        ends = [end for end in spec.ends if not (self._cr_at_once and end[:1] == b"\r")]
        if self._cr_at_once:
            ends.append(b"\r")
        self._ends = tuple(sorted(ends, key=len, reverse=True))
        self._find_end = re.compile(b"|".join(map(re.escape, self._ends))).search
        self._one_end = ends[0] if len(ends) == 1 and not self._cr_at_once else b""
        self._is_lines = bool(self._one_end) and not (spec.start or spec.tail or spec.mask7)
        self._raw = b""  # bytes not yet part of an outcome, as they came
        self._buf = b""  # the same, masked
        self._in_frame = not spec.start  # False: still looking for the start mark
        self._skip: _Skip | None = None
        self._swallow_lf = False
        self._last: Instant | None = None

    @property
    def is_waiting(self) -> bool:
        """Bytes lie here that silence would turn into an outcome."""
        return bool(self._raw) or (self._skip is not None and not self._skip.said)

    @property
    def idle_s(self) -> float:
        """The silence after which `idle` has something to say, in seconds."""
        return self._spec.idle_ms / 1000

    def feed(self, chunk: bytes, at: Instant) -> list[Piece]:
        """Take bytes that arrived at `at`; a gap of `idle_ms` or more before them counts."""
        out: list[Piece] = []
        if self._last is not None and at.mono_ns - self._last.mono_ns >= self._idle_ns:
            self._silence(out)
        if not chunk:
            return out
        skip = self._skip
        if skip and not skip.said and at.mono_ns - skip.at.mono_ns >= self._idle_ns:
            # A stream that never pauses and never ends a frame must still be told of. Before these
            # bytes are looked at: which of them came in one piece must not matter.
            skip.said = True
            out.append(skip.flaw())
        self._last = at
        self._raw += chunk
        self._buf = self._raw.translate(_MASK7) if self._spec.mask7 else self._raw
        self._cut(out, at, final=False)
        return out

    def idle(self, at: Instant) -> list[Piece]:
        """Nothing came until `at`: close what silence closes."""
        out: list[Piece] = []
        if self._last is not None and at.mono_ns - self._last.mono_ns >= self._idle_ns:
            self._silence(out)
        return out

    def _silence(self, out: list[Piece]) -> None:
        at = self._last
        assert at is not None
        self._swallow_lf = False
        self._cut(out, at, final=True)
        if self._skip:
            self._skip.add(self._raw)
            self._end_skip(out)
        elif self._raw and not self._in_frame:
            noise = _Skip("noise", at, self._keep)
            noise.add(self._raw)
            out.append(noise.flaw())
        elif self._raw:
            whole = not self._spec.ends and self._spec.length is None
            payload = self._buf[len(self._spec.start) :]
            out.append(Frame(payload, self._raw, at) if whole else Flaw("truncated", self._raw, at))
        self._raw = self._buf = b""
        self._in_frame = not self._spec.start

    def _end_skip(self, out: list[Piece]) -> None:
        if self._skip and not self._skip.said:
            out.append(self._skip.flaw())
        self._skip = None

    def _cut(self, out: list[Piece], at: Instant, final: bool) -> None:
        """Cut off all that is complete; `final` says that no byte will follow what is here."""
        pos = self._cut_lines(out, at) if self._is_lines and self._skip is None else 0
        while True:
            if self._swallow_lf and pos < len(self._buf):
                self._swallow_lf = False
                if self._buf[pos] == _LF:
                    pos += 1
            if not self._in_frame and self._skip_kind() != "overlong":
                pos = self._seek(out, at, pos)
                if not self._in_frame:
                    break
            after = self._take(out, at, pos, final)
            if after is None:
                break
            pos = after
        self._raw = self._raw[pos:]
        self._buf = self._buf[pos:] if self._spec.mask7 else self._raw
        self._bound(at)

    def _cut_lines(self, out: list[Piece], at: Instant) -> int:
        """Frames of the commonest kind, with an end mark and nothing else, in one stroke; where the
        first one stops that is not whole or too long, which is left to the general way.
        """
        end, most = self._one_end, self._spec.max_bytes
        *whole, rest = self._buf.split(end)
        pos = len(self._buf) - len(rest)
        if max(map(len, whole), default=0) > most:
            whole = list(takewhile(lambda payload: len(payload) <= most, whole))
            pos = sum(len(payload) + len(end) for payload in whole)
        out += [Frame(payload, payload, at, end) for payload in whole]
        return pos

    def _skip_kind(self) -> str:
        return self._skip.code if self._skip else ""

    def _seek(self, out: list[Piece], at: Instant, pos: int) -> int:
        """Look for the start mark from `pos`; what lies before it is noise."""
        start = self._spec.start
        found = self._buf.find(start, pos)
        upto = found if found >= 0 else len(self._buf) - _begun(self._buf, pos, (start,))
        if upto > pos:
            if self._skip is None:
                self._skip = _Skip("noise", at, self._keep)
            self._skip.add(self._raw[pos:upto])
        if found >= 0:
            self._end_skip(out)
            self._in_frame = True
        return upto

    def _take(self, out: list[Piece], at: Instant, pos: int, final: bool) -> int | None:
        """One frame, or the rest of an overlong one, from `pos`; None: not complete yet."""
        spec = self._spec
        begin = pos + (len(spec.start) if self._in_frame else 0)
        if spec.length is not None:
            after = pos + spec.length
            if len(self._buf) < after:
                return None
            out.append(Frame(self._buf[begin:after], self._raw[pos:after], at))
        else:
            found = self._end_at(begin, final) if self._ends else None
            if found is None:
                return None
            stop, after = found
            tail_from = after
            after += spec.tail
            if len(self._buf) < after:
                return None
            if self._skip:
                self._skip.add(self._raw[pos:stop] + self._raw[tail_from:after])
                self._end_skip(out)
            elif stop - begin > spec.max_bytes:
                skip = _Skip("overlong", at, self._keep + len(spec.start))
                skip.add(self._raw[pos:stop] + self._raw[tail_from:after])
                out.append(skip.flaw())
            else:
                raw, tail = self._raw[pos:stop], b""
                if spec.tail:
                    raw += self._raw[tail_from:after]
                    tail = self._buf[tail_from:after]
                end = self._one_end or self._buf[stop:tail_from]
                out.append(Frame(self._buf[begin:stop], raw, at, end, tail))
            self._swallow_lf = self._cr_at_once and not spec.tail and self._buf[stop:after] == b"\r"
        self._in_frame = not spec.start
        return after

    def _end_at(self, begin: int, final: bool) -> tuple[int, int] | None:
        """First end mark from `begin`: where it starts and where it stops; None: not there yet."""
        if self._one_end:  # no other can begin earlier or grow longer
            stop = self._buf.find(self._one_end, begin)
            return (stop, stop + len(self._one_end)) if stop >= 0 else None
        found = self._find_end(self._buf, begin)
        if found is None:
            return None
        left = len(self._buf) - found.start()
        may_grow = not final and left < len(self._ends[0])
        if may_grow and _begun(self._buf, begin, self._ends) >= left:
            return None  # a longer end mark, begun here or before, may still come
        after = found.end()
        if self._cr_at_once and self._spec.tail and found.group() == b"\r":
            # The line feed belongs to the end mark, so the tail starts behind it.
            after += self._buf[after : after + 1] == b"\n"
        return found.start(), after

    def _bound(self, at: Instant) -> None:
        """Pass over what is too long to become a frame, so that memory stays bounded."""
        spec = self._spec
        if spec.length is not None or not (self._in_frame or self._skip):
            return
        begin = len(spec.start) if self._in_frame else 0
        upto = len(self._buf) - _begun(self._buf, begin, self._ends)
        found = self._end_at(begin, final=True) if self._ends else None
        if found:  # only the tail, or a longer end mark, is still to come
            upto = min(upto, found[0])
        if self._skip is None and upto - begin > spec.max_bytes:
            self._skip = _Skip("overlong", at, self._keep + len(spec.start))
            self._in_frame = False
        if self._skip and self._skip.code == "overlong":
            self._skip.add(self._raw[:upto])
            self._raw = self._raw[upto:]
            self._buf = self._buf[upto:]


def _begun(buf: bytes, pos: int, marks: tuple[bytes, ...]) -> int:
    """How many of the last bytes may be the beginning of one of `marks`."""
    longest = 0
    for mark in marks:
        for size in range(min(len(mark) - 1, len(buf) - pos), longest, -1):
            if buf.endswith(mark[:size]):
                longest = size
                break
    return longest
