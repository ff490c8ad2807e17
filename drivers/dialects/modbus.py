"""The dialect of a `kind = "modbus-rtu"` profile: when a reply is complete, echo, flags. Pure."""

from drivers.dialects.modbus_reply import ReplyDecoder, reply_size, request_frame
from drivers.dialects.outcomes import NO_READING, REPEAT, Bad, flagged, rejected, repeat_window_ns
from drivers.profile.modbus_spec import LONGEST_REPLY, Modbus
from drivers.profile.profile import Profile
from drivers.reading import Instant, Outcome

WHOLE_MS = 40
"""So long a silence, or `idle_ms` if that is shorter, ends a reply whose bytes are all here.

Chosen by us: common USB adapters hold small packets back for 16 ms, so what belongs to a reply is
here by then, and nobody notices the wait.
"""


class ModbusCodec:
    """Asks for one number and judges what answers.

    A reply is what comes until silence, so it does not matter how it is cut: bytes behind a whole
    reply make it `overlong` whether they come with it or a little later. Only the next request ends
    it sooner. The byte count says how long a silence that must be: a whole reply waits for
    `WHOLE_MS`, a part of one for `idle_ms`.
    """

    def __init__(self, profile: Profile, modbus: Modbus, *, with_repeats: bool = True) -> None:
        self._profile = profile
        self._decoder = ReplyDecoder(profile, modbus)
        self._request = request_frame(modbus)
        self._idle_ms = profile.frame.idle_ms
        self._window_ns = repeat_window_ns(profile, with_repeats=with_repeats)
        self._before = NO_READING
        self._buf = b""  # at most one byte more than the longest reply: enough to see it is longer
        self._passed = 0  # bytes of an overlong reply that were not kept
        self._last = Instant(0, 0)
        self._echo_due = False
        self._since: Instant | None = None  # when the reply grew longer than it may be
        self._is_told = False  # of this overlong one: a stream that never pauses
        self._left: list[Outcome] = []  # what lay half-read when the last request was made
        self._is_first = True

    def feed(self, chunk: bytes, at: Instant) -> list[Outcome]:
        """Take bytes that arrived at `at`."""
        out = self.idle(at)
        if not chunk:
            return out
        since = self._since
        if since and not self._is_told and at.mono_ns - since.mono_ns >= self._idle_ms * 1_000_000:
            self._judge(out)  # a stream that never pauses must still be told of
            self._is_told = True
        self._last = at
        if self._is_told:
            return out
        room = LONGEST_REPLY + 1 - len(self._buf)
        self._buf += chunk[:room]
        self._passed += max(0, len(chunk) - room)
        if self._echo_due:
            self._drop_echo()
        size = self._size()
        if self._since is None and size is not None and len(self._buf) > size:
            self._since = at
        return out

    def idle(self, at: Instant) -> list[Outcome]:
        """Nothing came until `at`."""
        out, self._left = self._left, []
        if at.mono_ns - self._last.mono_ns >= self._silence_ms() * 1_000_000:
            self._close(out)
        return out

    @property
    def silence_s(self) -> float | None:
        """Seconds of silence that close what lies half-read; None if nothing does."""
        is_waiting = bool(self._buf) or bool(self._left)
        return self._silence_ms() / 1000 if is_waiting else None

    @property
    def is_whole(self) -> bool:
        """As many bytes are here as the reply says it has, or more."""
        size = self._size()
        return size is not None and len(self._buf) >= size

    def request(self) -> bytes | None:
        """The frame that asks for the registers; what came before it is no part of the reply."""
        self._close(self._left)
        self._echo_due = True
        return self._request

    def _silence_ms(self) -> int:
        """The silence that ends what has come."""
        return min(self._idle_ms, WHOLE_MS) if self.is_whole else self._idle_ms

    def _size(self) -> int | None:
        """Bytes of the reply that has begun; None: not known yet, or it may be the echo."""
        return None if self._echo_due else reply_size(self._buf)

    def _drop_echo(self) -> None:
        """Take an exact copy of the request from the front, once it is here or cannot be any."""
        if self._request.startswith(self._buf) and self._buf != self._request:
            return
        self._echo_due = False
        self._buf = self._buf.removeprefix(self._request)

    def _close(self, out: list[Outcome]) -> None:
        """No more bytes belong to what is here."""
        if self._buf:
            self._judge(out)
        self._is_told = False

    def _judge(self, out: list[Outcome]) -> None:
        """All that has come is one frame."""
        frame, passed = self._buf, self._passed
        self._buf, self._passed, self._since = b"", 0, None
        is_first, self._is_first = self._is_first, False
        self._echo_due = False
        try:
            reading = self._decoder.read(frame, self._last)
        except Bad as bad:
            kept = frame[:LONGEST_REPLY]
            skipped = passed + len(frame) - len(kept)
            out.append(
                rejected(
                    self._profile,
                    bad.code,
                    bad.detail,
                    kept,
                    self._last,
                    skipped=skipped,
                    is_first=is_first,
                )
            )
            return
        (before, before_ns), now_ns = self._before, self._last.mono_ns
        if frame == before and now_ns - before_ns <= self._window_ns:
            reading = flagged(reading, REPEAT)
        self._before = frame, now_ns
        out.append(reading)
