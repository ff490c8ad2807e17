"""Profiles of every way to delimit a frame, drawn at random, and streams that try their edges.

The bytes are few and the bounds small, so that marks begin in marks, frames are too long and lack
their end at the same time, and bit 7 is set on any of them.
"""

from hypothesis import strategies as st
from msgspec.structs import replace as replaced

from drivers.profile.file import parse_profile
from drivers.profile.frame_checks import FrameKeys, check_check, frame_of
from drivers.profile.frame_spec import FrameSpec
from drivers.profile.profile import CheckCharacter, Profile, Trigger

_BASE = parse_profile(
    'schema = 1\nid = "drawn"\nkind = "text"\n[conditions]\n"ER?" = "over"\n'
    '[[layout]]\nname = "number"\nform = "nrf"\nsign = "optional"\n',
    "drawn.toml",
)
_MARK_CHARS = "ab\r\n"
MARKS = st.text(_MARK_CHARS, min_size=1, max_size=3)
_END_LISTS = st.lists(
    st.sampled_from(["\r", "\n", "\r\n"]) | MARKS, min_size=1, max_size=4, unique=True
)
CHECKS = st.sampled_from(
    [
        None,
        CheckCharacter(kind="xor8", form="raw"),
        CheckCharacter(kind="sum8", form="raw", over="payload+end"),
        CheckCharacter(kind="xor8", form="hex2", sep="*"),
    ]
)


@st.composite
def frame_specs(draw: st.DrawFn) -> FrameSpec:
    """End marks, a fixed length or silence; each with and without all that goes with it."""
    kind = draw(st.sampled_from(["end", "end", "ends", "ends", "length", "silence"]))
    start = draw(st.none() | MARKS)
    most, idle_ms = draw(st.integers(1, 6)), draw(st.sampled_from([1, 20, 500]))
    is_masked, is_trimmed = draw(st.booleans()), draw(st.booleans())
    ends: str | list[str] | None = None
    if kind == "end":
        ends = draw(MARKS)
    elif kind == "ends":
        ends = draw(_END_LISTS)
    is_long = kind == "length"
    return frame_of(
        FrameKeys(
            start=start,
            end=ends,
            tail=draw(st.integers(0, 2)) if ends else 0,
            length=len(start or "") + draw(st.integers(1, 6)) if is_long else None,
            idle_ms=idle_ms,
            max_bytes=None if is_long else most,
            mask7=is_masked,
            trim=is_trimmed,
        )
    )


@st.composite
def profiles(draw: st.DrawFn) -> Profile:
    """A text profile of a drawn frame, with the checks and the echo that go with it."""
    frame, check = draw(frame_specs()), draw(CHECKS)
    if check is not None and check.form == "raw":
        frame = replaced(frame, tail=1 if frame.ends else 0)
        check = check if frame.ends else None
    check_check(check, frame)
    trigger = Trigger(b"1\r", echo=True) if draw(st.booleans()) else Trigger()
    window_ms = draw(st.sampled_from([0, 300]))
    return replaced(_BASE, frame=frame, check=check, trigger=trigger, repeat_window_ms=window_ms)


def drawn_streams(frame: FrameSpec) -> st.SearchStrategy[bytes]:
    """Marks, beginnings of marks, payloads as long as can be and longer, and any bytes."""
    marks = [mark for mark in (*frame.ends, frame.start) if mark]
    begun = [mark[:size] for mark in marks for size in range(1, len(mark))]
    most = frame.length or frame.max_bytes
    pieces = [
        *(*marks, *begun, b"1", b"-.5", b" 2 ", b"ER1", b"\r", b"\n", b"a", b"b", b"\x8d", b"\xe1"),
        *(b"x" * most, b"x" * (most + 1)),
    ]
    any_bytes = st.binary(max_size=3)
    return st.lists(st.sampled_from(pieces) | any_bytes, max_size=10).map(b"".join)
