"""One gauge's dialect behind one interface: bytes and silence in, readings and rejects out."""

from decimal import Decimal
from typing import Protocol

from drivers.checksums import CHECKSUMS
from drivers.framing import Flaw, Frame, Framer, FrameSpec, Piece
from drivers.layout import Fields, Layout, Miss
from drivers.numbers import MOST_DIGITS, MOST_EXPONENT
from drivers.profile import Profile
from drivers.reading import Instant, Outcome, Reading, Reject, escaped

FIRST_AFTER_OPEN = "first-after-open"
NO_ECHO = "no-echo"
REPEAT = "repeat"


class Codec(Protocol):
    """One gauge's dialect: no I/O, no clock. Made anew after every open, so no half frame survives
    a replug. `feed` and `idle` never raise on bad bytes.
    """

    def feed(self, chunk: bytes, at: Instant) -> list[Outcome]:
        """Take bytes that arrived at `at`."""
        ...

    def idle(self, at: Instant) -> list[Outcome]:
        """Nothing came until `at`."""
        ...

    @property
    def silence_s(self) -> float | None:
        """Call `idle` after so many seconds of silence; None: no need."""
        ...


class _Bad(Exception):
    """A whole frame that gives no reading."""

    def __init__(self, code: str, detail: str) -> None:
        self.code = code
        self.detail = detail
        super().__init__(detail)


class TextCodec:
    """The dialect of a `kind = "text"` profile.

    `with_repeats` False leaves repeated frames unflagged: in a capture file the arrival times that
    tell a held button from two presses are lost.
    """

    def __init__(self, profile: Profile, *, with_repeats: bool = True) -> None:
        self._profile = profile
        self._framer = Framer(profile.frame)
        self._layout = Layout(profile.layout)
        self._echo = profile.trigger.send.rstrip(b"\r\n") if profile.trigger.echo else None
        self._echo_due = self._echo is not None
        self._window_ns = profile.repeat_window_ms * 1_000_000 if with_repeats else None
        self._previous: tuple[bytes, int] | None = None
        self._is_first = True
        self._steps: dict[int, Decimal] = {}
        self._has_resolution = profile.resolution is not None

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

    def _outcomes(self, pieces: list[Piece]) -> list[Outcome]:
        out: list[Outcome] = []
        for piece in pieces:
            if isinstance(piece, Frame):
                if self._echo_due and piece.payload == self._echo:
                    self._echo_due = False
                    continue
                try:
                    out.append(self._reading(piece))
                except _Bad as bad:
                    out.append(self._reject(bad.code, bad.detail, piece))
            else:
                out.append(
                    self._reject(piece.code, _flaw_detail(piece, self._profile.frame), piece)
                )
            self._is_first = False
            self._echo_due = self._echo is not None
        return out

    def _reject(self, code: str, detail: str, piece: Piece) -> Reject:
        raw = piece.raw
        skipped = piece.skipped if isinstance(piece, Flaw) else 0
        words = f"profile {self._profile.id}: {detail}"
        if raw:
            words += f"; got {escaped(raw)} (hex {raw[:24].hex()}{'…' if len(raw) > 24 else ''})"
        if skipped:
            words += f" and {skipped} more bytes"
        flags: tuple[str, ...] = ()
        if self._is_first and code == "syntax":
            flags = (FIRST_AFTER_OPEN,)
            words += "; the first frame after opening may be the tail of one already on its way"
        return Reject(code, words, raw, piece.at, skipped, flags)

    def _reading(self, frame: Frame) -> Reading:
        """The reading in a whole frame; raises _Bad. The order of the tests is the schema's."""
        profile = self._profile
        payload = frame.payload
        if not payload:
            raise _Bad("empty", "position 1: expected a reading, the frame is empty")
        try:
            text = payload.decode("ascii")
        except UnicodeDecodeError:
            text = "\x00"
        if not text.isprintable():
            raise _Bad("encoding", _encoding_detail(payload))
        if profile.check is not None:
            text = self._checked(frame, text)
        if profile.frame.trim:
            text = text.strip(" ")
        condition = profile.condition(text) if profile.conditions else None
        if condition is not None:
            raise _Bad(f"gauge.{condition}", f"the gauge says {condition}")
        try:
            fields = self._layout.read(text)
        except Miss as miss:
            raise _Bad(miss.code, f"position {miss.pos + 1}: expected {miss.expected}") from None
        if fields.no_reading is not None:
            raise _Bad(f"gauge.{fields.no_reading}", f"status {fields.no_reading}: no reading")
        return self._value(frame, fields)

    def _checked(self, frame: Frame, text: str) -> str:
        """The text without its check characters; raises _Bad if they are missing or wrong."""
        check = self._profile.check
        assert check is not None
        summed = frame.payload
        if check.form == "raw":
            if check.over == "payload+end":
                summed += frame.end
            sent = frame.tail[0]
        else:
            cut = len(text) - 2 - len(check.sep)
            digits = text[-2:]
            if cut < 0 or text[cut:-2] != check.sep or not set(digits) <= _HEX:
                raise _Bad(
                    "syntax", f"field check: expected {check.sep!r} and two hex digits at the end"
                )
            sent = int(digits, 16)
            text = text[:cut]
            summed = summed[:cut]
        due = CHECKSUMS[check.kind](summed)
        if self._profile.frame.mask7 and check.form == "raw":
            due &= 0x7F  # seven data bits carry no more of it
        if sent != due:
            raise _Bad("checksum", f"field check: expected {due:02x} by the bytes, not {sent:02x}")
        return text

    def _value(self, frame: Frame, fields: Fields) -> Reading:
        profile = self._profile
        number = fields.number
        power = number.exponent10 + fields.exponent
        if not number.digits or abs(fields.exponent) > MOST_EXPONENT:
            raise _Bad("range", "a number beyond anything a gauge can show")
        if -power > MOST_DIGITS or len(number.digits.lstrip("0")) > MOST_DIGITS:
            raise _Bad("range", f"more than {MOST_DIGITS} digits")
        negative = number.negative or fields.sign == "-"
        value = _decimal(negative, number.digits, power)
        unit = fields.unit if fields.unit is not None else profile.unit
        for sentinel, name in profile.sentinels:
            if value == sentinel:
                raise _Bad(f"gauge.{name}", f"the number {value:f} means {name}")
        if not number.in_range:
            raise _Bad("range", "minutes or seconds over 59")
        if profile.least is not None and value < profile.least:
            raise _Bad("range", f"{value:f} {unit} is under {profile.least:f}")
        if profile.most is not None and value > profile.most:
            raise _Bad("range", f"{value:f} {unit} is over {profile.most:f}")
        flags = fields.flags
        if self._echo_due:
            flags.append(NO_ECHO)
        if self._is_repeat(frame):
            flags.append(REPEAT)
        declared = profile.resolution_in(unit) if self._has_resolution else None
        return Reading(
            value=value,
            unit=unit,
            resolution=declared or number.step or self._steps.get(power) or self._step(power),
            raw=frame.raw,
            at=frame.at,
            channel=fields.channel,
            flags=tuple(sorted(set(flags))) if flags else (),
        )

    def _step(self, power: int) -> Decimal:
        step = self._steps[power] = _decimal(False, "1", power)
        return step

    def _is_repeat(self, frame: Frame) -> bool:
        if not self._window_ns:
            return False
        previous, now = self._previous, frame.at.mono_ns
        self._previous = (frame.payload, now)
        return (
            previous is not None
            and previous[0] == frame.payload
            and now - previous[1] <= self._window_ns
        )


_HEX = set("0123456789abcdefABCDEF")


def _flaw_detail(flaw: Flaw, frame: FrameSpec) -> str:
    """Where a flaw lies, and what was expected there."""
    if flaw.code == "noise":
        return f"position 1: expected the start mark (hex {frame.start.hex()})"
    ends = " or ".join(f"hex {end.hex()}" for end in frame.ends)
    if flaw.code == "overlong":
        mark = f"an end mark ({ends})" if ends else "silence"
        return f"position {frame.max_bytes + 1}: expected {mark}, the frame is longer than that"
    more = f"{frame.length} bytes in all" if frame.length else f"the end mark ({ends})"
    return f"position {len(flaw.raw) + 1}: expected {more}, then came silence"


def _encoding_detail(payload: bytes) -> str:
    for pos, byte in enumerate(payload):
        if not 0x20 <= byte <= 0x7E:
            return f"position {pos + 1}: expected printable ASCII, not the byte {byte:02x}"
    return "expected printable ASCII"


_POWERS = {0: "", **{power: f"E{power}" for power in range(-9, 0)}}
"""The usual powers of ten, written once; writing one anew takes as long as the conversion."""


def _decimal(negative: bool, digits: str, power: int) -> Decimal:
    """digits x 10**power exactly and in plain notation; zero has no sign."""
    if power > 0:
        digits, power = digits + "0" * power, 0
    number = Decimal(digits + _POWERS[power]) if power in _POWERS else Decimal(f"{digits}E{power}")
    return number.copy_negate() if negative and number else number


def codec_for(profile: Profile, *, with_repeats: bool = True) -> Codec:
    """A fresh codec for one opening of a gauge of this profile."""
    return TextCodec(profile, with_repeats=with_repeats)
