"""Where frames begin and end: the first way of cutting that fits every press. Pure."""

from collections.abc import Iterator, Sequence

import msgspec

from drivers.inference.line import Seventh, masked, seventh_bit
from drivers.inference.said import CannotInfer
from drivers.reading import escaped

STX, ETX = b"\x02", b"\x03"
MOST_FRAMES = 500
"""More than these are no longer a few presses."""

_LINE_ENDS = (b"\r\n", b"\n\r", b"\r", b"\n")
_ANY_LINE_END = (b"\r\n", b"\r", b"\n")


class PressedFrame(msgspec.Struct, frozen=True):
    """One frame of a press (0 the first): its text and check byte without bit 7, and all raw."""

    press: int
    raw: bytes
    text: bytes
    end: bytes
    tail: bytes = b""


class Marks(msgspec.Struct, frozen=True):
    """A way of cutting. `ends` empty: silence ends a frame. `seventh`: what bit 7 carries."""

    start: bytes = b""
    ends: tuple[bytes, ...] = ()
    tail: int = 0
    seventh: Seventh | None = None


class Cut(msgspec.Struct, frozen=True):
    """All frames of all presses; `left` is what lay behind the last end mark of a capture."""

    marks: Marks
    pieces: tuple[PressedFrame, ...]
    left: bytes = b""


def cut(bursts: Sequence[bytes], *, is_timed: bool, presses: int | None = None) -> Cut:
    """The frames in what each press sent; raises CannotInfer.

    Not `is_timed`: the bursts are one capture without times, which may end in half a frame.
    """
    data = b"".join(bursts)
    if not data:
        raise CannotInfer("Nothing came. Press send on the gauge, or look into the captured file.")
    seventh = seventh_bit(data)
    found: Cut | None = None
    for marks in _ways(data, bursts, seventh):
        found = _cut(bursts, marks, is_timed=is_timed)
        if found is not None:
            break
    if found is None:
        found = _by_silence(bursts, seventh, is_timed=is_timed, presses=presses)
    if len(found.pieces) > MOST_FRAMES:
        raise CannotInfer(f"That is more than {MOST_FRAMES} readings. Capture a few presses only.")
    return found


def _ways(data: bytes, bursts: Sequence[bytes], seventh: Seventh | None) -> Iterator[Marks]:
    plain = masked(data) if seventh else data
    first = (masked(bursts[0]) if seventh else bursts[0])[:1]
    starts = [b""] if first >= b" " or first in (b"\r", b"\n") else [first, b""]
    for start in starts:
        if ETX in plain:
            for rest in (*_LINE_ENDS[:1], b"\r", b"\n", b""):
                yield Marks(start, (ETX + rest,), 0, seventh)
            yield Marks(start, (ETX,), 1, seventh)
        for end in _LINE_ENDS:
            yield Marks(start, (end,), 0, seventh)
        yield Marks(start, _ANY_LINE_END, 0, seventh)
        last = plain[-1:]
        if last < b" " and last not in (b"\r", b"\n", ETX):
            yield Marks(start, (last,), 0, seventh)


def _cut(bursts: Sequence[bytes], marks: Marks, *, is_timed: bool) -> Cut | None:
    """The frames by these marks; None if any byte does not fit."""
    pieces: list[PressedFrame] = []
    left = b""
    for press, raw in enumerate(bursts):
        plain = masked(raw) if marks.seventh else raw
        pos = 0
        while pos < len(plain):
            piece, after = _one(plain, raw, pos, press, marks)
            if piece is None:
                if is_timed or press + 1 < len(bursts) or not pieces:
                    return None
                left = raw[pos:]
                if not _is_text(plain[pos:].removeprefix(marks.start)):
                    return None
                break
            if not _is_text(piece.text) or (marks.tail and not piece.text):
                return None
            if piece.text:
                pieces.append(piece)
            pos = after
    if not pieces or (is_timed and {piece.press for piece in pieces} != set(range(len(bursts)))):
        return None
    return Cut(marks, tuple(pieces), left)


def _one(
    plain: bytes, raw: bytes, pos: int, press: int, marks: Marks
) -> tuple[PressedFrame | None, int]:
    begin = pos + len(marks.start)
    if not plain.startswith(marks.start, pos):
        return None, pos
    found = [(plain.find(end, begin), -len(end), end) for end in marks.ends]
    found = [one for one in found if one[0] >= 0]
    if not found:
        return None, pos
    stop, _, end = min(found)
    after = stop + len(end) + marks.tail
    if after > len(plain):
        return None, pos
    tail = plain[after - marks.tail : after] if marks.tail else b""
    return PressedFrame(press, raw[pos:after], plain[begin:stop], end, tail), after


def _by_silence(
    bursts: Sequence[bytes], seventh: Seventh | None, *, is_timed: bool, presses: int | None
) -> Cut:
    data = b"".join(bursts)
    plain = [masked(raw) if seventh else raw for raw in bursts]
    wrong = next((press for press, text in enumerate(plain) if not _is_text(text)), None)
    if wrong is not None:
        raise CannotInfer(
            f"{f'Press {wrong + 1}' if is_timed else 'The capture'} is no text that ends the same "
            f"way each time: {escaped(bursts[wrong])} (hex {bursts[wrong][:24].hex()}). Try "
            "another --line; or the gauge sends no text, and needs a profile of kind bcd "
            "or modbus-rtu."
        )
    if not is_timed:
        if not presses or len(data) % presses:
            raise CannotInfer(
                f"Nothing in these {len(data)} bytes tells one press from the next. If all presses "
                "sent equally much, say --presses N; else teach from the gauge itself."
            )
        size = len(data) // presses
        bursts = [data[place : place + size] for place in range(0, len(data), size)]
        plain = [masked(raw) if seventh else raw for raw in bursts]
    pieces = tuple(
        PressedFrame(press, raw, text, b"")
        for press, (raw, text) in enumerate(zip(bursts, plain, strict=True))
    )
    return Cut(Marks(seventh=seventh), pieces)


def _is_text(text: bytes) -> bool:
    return all(0x20 <= byte <= 0x7E for byte in text)
