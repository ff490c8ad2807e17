"""The dialect of a `kind = "modbus-rtu"` profile: when a reply is complete, echo, flags. Pure."""

from drivers.dialects.modbus_reply import ReplyDecoder, reply_size, request_frame
from drivers.dialects.outcomes import REPEAT, Bad, Repeats, flagged, rejected
from drivers.profile.modbus_spec import LONGEST_REPLY, Modbus
from drivers.profile.profile import Profile
from drivers.reading import Instant, Outcome


class ModbusCodec:
    """Asks for one number and judges what answers.

    What has come is judged as one frame as soon as its byte count is complete, else after silence:
    gaps tell nothing on USB adapters. Behind a frame whose end cannot be trusted all is passed over
    until silence or the next request.
    """

    def __init__(self, profile: Profile, modbus: Modbus, *, with_repeats: bool = True) -> None:
        self._profile = profile
        self._decoder = ReplyDecoder(profile, modbus)
        self._request = request_frame(modbus)
        self._idle_ns = profile.frame.idle_ms * 1_000_000
        self._repeats = Repeats(profile.repeat_window_ms if with_repeats else 0)
        self._buf = b""
        self._last = Instant(0, 0)
        self._echo_due = False
        self._passing = False  # over what lies behind a frame that makes no sense
        self._since = Instant(0, 0)  # when that began
        self._passed = 0  # bytes of it that were not kept
        self._is_told = False
        self._left: list[Outcome] = []  # what lay half-read when the last request was made
        self._is_first = True

    def feed(self, chunk: bytes, at: Instant) -> list[Outcome]:
        """Take bytes that arrived at `at`."""
        out = self.idle(at)
        if not chunk:
            return out
        self._last = at
        if self._passing:
            self._pass_over(chunk, at, out)
            return out
        self._buf += chunk
        if self._echo_due:
            if self._request.startswith(self._buf):
                if self._buf == self._request:
                    self._echo_due, self._buf = False, b""
                return out
            self._echo_due = False
            self._buf = self._buf.removeprefix(self._request)
        size = reply_size(self._buf)
        if size is not None and len(self._buf) >= size:
            self._judge(out)
        return out

    def idle(self, at: Instant) -> list[Outcome]:
        """Nothing came until `at`."""
        out, self._left = self._left, []
        if at.mono_ns - self._last.mono_ns >= self._idle_ns:
            self._close(out)
        return out

    @property
    def silence_s(self) -> float | None:
        """Seconds of silence that close what lies half-read; None if nothing does."""
        is_waiting = bool(self._buf) or bool(self._left)
        return self._profile.frame.idle_ms / 1000 if is_waiting else None

    def request(self) -> bytes | None:
        """The frame that asks for the registers; what came before it is no part of the reply."""
        self._close(self._left)
        self._echo_due = True
        return self._request

    def _close(self, out: list[Outcome]) -> None:
        """No more bytes belong to what is here."""
        if self._passing:
            self._tell_passed(out)
            self._passing = self._is_told = False
        elif self._buf:
            self._judge(out)
            self._passing = False

    def _judge(self, out: list[Outcome]) -> None:
        """All that has come is one frame."""
        frame, self._buf = self._buf, b""
        is_first, self._is_first = self._is_first, False
        self._echo_due = False
        try:
            reading = self._decoder.read(frame, self._last)
        except Bad as bad:
            out.append(
                rejected(
                    self._profile,
                    bad.code,
                    bad.detail,
                    frame[:LONGEST_REPLY],
                    self._last,
                    skipped=max(0, len(frame) - LONGEST_REPLY),
                    is_first=is_first,
                )
            )
            self._passing = bad.code in ("checksum", "overlong")
            self._since = self._last
            return
        if self._repeats.is_repeat(frame, self._last):
            reading = flagged(reading, REPEAT)
        out.append(reading)

    def _pass_over(self, chunk: bytes, at: Instant, out: list[Outcome]) -> None:
        if self._is_told:
            return
        room = LONGEST_REPLY - len(self._buf)
        self._buf += chunk[:room]
        self._passed += max(0, len(chunk) - room)
        if at.mono_ns - self._since.mono_ns >= self._idle_ns:
            # A stream that never pauses must still be told of.
            self._tell_passed(out)
            self._is_told = True

    def _tell_passed(self, out: list[Outcome]) -> None:
        raw, passed = self._buf, self._passed
        self._buf, self._passed = b"", 0
        if raw:
            detail = "position 1: expected silence behind the frame before"
            out.append(rejected(self._profile, "overlong", detail, raw, self._last, skipped=passed))
