"""The dialect of a gauge whose frames the profile delimits: framing, echo and flags. Pure."""

from typing import Protocol

from drivers.dialects.framing import Flaw, Frame, Framer, Piece
from drivers.dialects.outcomes import (
    NO_ECHO,
    NO_READING,
    REPEAT,
    Bad,
    flagged,
    rejected,
    repeat_window_ns,
)
from drivers.profile.frame_spec import FrameSpec
from drivers.profile.profile import Profile
from drivers.reading import Instant, Outcome, Reading, Reject


class Decoder(Protocol):
    """One whole frame to a reading."""

    def read(self, frame: Frame) -> Reading:
        """The reading in a frame; raises Bad. No frame changes what the next one says."""
        ...


class FramedCodec:
    """A codec of `decoder`'s frames.

    `with_repeats` False leaves repeated frames unflagged: in a capture file the arrival times that
    tell a held button from two presses are lost.
    """

    def __init__(self, profile: Profile, decoder: Decoder, *, with_repeats: bool = True) -> None:
        self._profile = profile
        self._framer = Framer(profile.frame)
        self._read = decoder.read
        self._echo = profile.trigger.send.rstrip(b"\r\n") if profile.trigger.echo else None
        self._echo_due = self._echo is not None
        self._window_ns = repeat_window_ns(profile, with_repeats=with_repeats)
        self._before = NO_READING
        self._is_first = True

    def feed(self, chunk: bytes, at: Instant) -> list[Outcome]:
        """Take bytes that arrived at `at`."""
        return self._outcomes(self._framer.feed(chunk, at))

    def idle(self, at: Instant) -> list[Outcome]:
        """Nothing came until `at`."""
        return self._outcomes(self._framer.idle(at))

    @property
    def silence_s(self) -> float | None:
        """Seconds of silence that close what lies half-read; None if nothing does."""
        return self._framer.idle_s if self._framer.is_waiting else None

    @property
    def is_whole(self) -> bool:
        """Never: what an end mark or a length ends is told at once, and what silence ends may grow
        until then.
        """
        return False

    def request(self) -> bytes | None:
        """The profile's trigger text; None if it has none."""
        self._echo_due = self._echo is not None
        return self._profile.trigger.send or None

    def _outcomes(self, pieces: list[Piece]) -> list[Outcome]:
        out: list[Outcome] = []
        read, echo, window_ns = self._read, self._echo, self._window_ns
        is_first, is_echo_due = self._is_first, self._echo_due
        before, before_ns = self._before
        for piece in pieces:
            if isinstance(piece, Frame):
                payload = piece.payload
                if is_echo_due and payload == echo:
                    is_echo_due = False
                    continue
                try:
                    reading = read(piece)
                except Bad as bad:
                    out.append(self._reject(bad.code, bad.detail, piece, is_first=is_first))
                else:
                    if is_echo_due:
                        reading = flagged(reading, NO_ECHO)
                    now_ns = piece.at.mono_ns
                    if payload == before and now_ns - before_ns <= window_ns:
                        reading = flagged(reading, REPEAT)
                    before, before_ns = payload, now_ns
                    out.append(reading)
            else:
                detail = _flaw_detail(piece, self._profile.frame)
                out.append(self._reject(piece.code, detail, piece, is_first=is_first))
            is_first, is_echo_due = False, echo is not None
        self._is_first, self._echo_due = is_first, is_echo_due
        self._before = before, before_ns
        return out

    def _reject(self, code: str, detail: str, piece: Piece, *, is_first: bool) -> Reject:
        return rejected(
            self._profile,
            code,
            detail,
            piece.raw,
            piece.at,
            skipped=piece.skipped if isinstance(piece, Flaw) else 0,
            is_first=is_first,
        )


def _flaw_detail(flaw: Flaw, frame: FrameSpec) -> str:
    """Where a flaw lies, and what was expected there."""
    if flaw.code == "noise":
        return f"position 1: expected the start mark (hex {frame.start.hex()})"
    ends = " or ".join(f"hex {end.hex()}" for end in frame.ends)
    if flaw.code == "overlong":
        mark = f"an end mark ({ends})" if ends else "silence"
        return f"position {frame.max_bytes + 1}: expected {mark}, but it goes on"
    more = f"{frame.length} bytes in all" if frame.length else f"the end mark ({ends})"
    return f"position {len(flaw.raw) + 1}: expected {more}, then nothing more came"
