"""Frames that are too long, never end, have a fixed length, or come with bit 7 set."""

import pytest

from drivers.dialects.framing import Frame, Framer, Piece
from drivers.profile.frame_spec import FrameSpec
from drivers.reading import Instant

CRLF_4 = FrameSpec(ends=(b"\r\n",), max_bytes=4)
ETX_TAIL_4 = FrameSpec(ends=(b"\x03",), tail=1, max_bytes=4)
SYNC_4 = FrameSpec(start=b"\xaa", length=4)


def at(ms: int) -> Instant:
    return Instant(ms * 1000, ms * 1_000_000)


def closed(spec: FrameSpec, *chunks: bytes) -> list[Piece]:
    """The pieces of chunks at 0 ms, then two seconds of silence."""
    framer = Framer(spec)
    out = [piece for chunk in chunks for piece in framer.feed(chunk, at(0))]
    return out + framer.idle(at(2000))


def told(pieces: list[Piece]) -> list[tuple[str, bytes, int]]:
    """What each piece is, its raw bytes and how many more it stands for."""
    return [
        ("frame", p.raw, 0) if isinstance(p, Frame) else (p.code, p.raw, p.skipped) for p in pieces
    ]


# --- overlong ---


@pytest.mark.parametrize(
    "chunks", [(b"12345\r\n6\r\n",), (b"12345", b"\r", b"\n6\r\n"), (b"1234", b"5\r", b"\n6\r\n")]
)
def test_an_overlong_frame_is_one_event_up_to_its_end(chunks: tuple[bytes, ...]) -> None:
    assert told(closed(CRLF_4, *chunks)) == [("overlong", b"1234", 1), ("frame", b"6", 0)]


def test_a_begun_end_does_not_count_towards_the_longest_frame() -> None:
    assert told(closed(CRLF_4, b"1234\r", b"\n")) == [("frame", b"1234", 0)]


def test_a_false_beginning_of_an_end_counts_towards_the_longest_frame() -> None:
    assert told(closed(CRLF_4, b"1234\r", b"5\r\n6\r\n")) == [
        ("overlong", b"1234", 2),
        ("frame", b"6", 0),
    ]


@pytest.mark.parametrize("chunks", [(b"12345\x03K6\x03L",), (b"12345", b"\x03", b"K", b"6\x03L")])
def test_the_tail_of_an_overlong_frame_belongs_to_it(chunks: tuple[bytes, ...]) -> None:
    assert told(closed(ETX_TAIL_4, *chunks)) == [("overlong", b"1234", 2), ("frame", b"6L", 0)]


def test_silence_ends_an_overlong_frame() -> None:
    assert told(closed(CRLF_4, b"x" * 10)) == [("overlong", b"xxxx", 6)]


def test_an_overlong_frame_without_end_marks_lasts_until_silence() -> None:
    assert told(closed(FrameSpec(max_bytes=4), b"123", b"456")) == [("overlong", b"1234", 2)]


@pytest.mark.parametrize("cut", range(42))
def test_a_frame_too_long_and_without_its_tail_is_overlong_wherever_it_is_cut(cut: int) -> None:
    # the payload has 7 + 33 = 40 bytes; start and 32 are kept, 8 and the end mark are not
    spec = FrameSpec(start=b"\x02", ends=(b"\x03",), tail=1, max_bytes=32)
    stream = b"\x02+12.345" + b"x" * 33 + b"\x03"
    assert told(closed(spec, stream[:cut], stream[cut:])) == [("overlong", stream[:33], 9)]


@pytest.mark.parametrize("chunks", [(b"12345\r",), (b"12345", b"\r"), (b"1234", b"5\r")])
def test_a_frame_too_long_that_lacks_half_its_end_is_overlong(chunks: tuple[bytes, ...]) -> None:
    assert told(closed(CRLF_4, *chunks)) == [("overlong", b"1234", 2)]


def test_a_frame_of_the_longest_payload_that_lacks_its_tail_is_truncated() -> None:
    assert told(closed(ETX_TAIL_4, b"1234\x03")) == [("truncated", b"1234\x03", 0)]


def test_a_start_mark_inside_an_overlong_frame_is_passed_over() -> None:
    spec = FrameSpec(start=b"\x02", ends=(b"\x03",), max_bytes=4)
    # 1 start + 10 + 1 start + 1 = 13 bytes, of which start and 4 are kept
    assert told(closed(spec, b"\x02xxxxx", b"xxxxx", b"\x021\x03\x022\x03")) == [
        ("overlong", b"\x02xxxx", 8),
        ("frame", b"\x022", 0),
    ]


def test_an_endless_stream_without_a_pause_is_told_of_once() -> None:
    framer = Framer(CRLF_4)
    said = {ms: framer.feed(b"x" * 10, at(ms)) for ms in range(0, 3000, 100)}
    # five chunks of 10 bytes have come before 500 ms; 4 bytes are kept
    assert {ms: told(out) for ms, out in said.items() if out} == {500: [("overlong", b"xxxx", 46)]}
    assert not framer.is_waiting
    assert told(framer.feed(b"\r\n12\r\n", at(3000))) == [("frame", b"12", 0)]


def test_endless_noise_without_a_pause_is_told_of_once() -> None:
    framer = Framer(FrameSpec(start=b"\x02", ends=(b"\x03",), max_bytes=4))
    said = {ms: framer.feed(b"x" * 10, at(ms)) for ms in range(0, 3000, 100)}
    assert {ms: told(out) for ms, out in said.items() if out} == {500: [("noise", b"xxxx", 46)]}
    assert told(framer.feed(b"\x021\x03", at(3000))) == [("frame", b"\x021", 0)]


def test_silence_after_a_stream_that_was_told_of_says_nothing_more() -> None:
    framer = Framer(CRLF_4)
    for ms in range(0, 1000, 100):
        framer.feed(b"x" * 10, at(ms))
    assert framer.idle(at(5000)) == []
    assert told(framer.feed(b"12\r\n", at(5001))) == [("frame", b"12", 0)]


# --- fixed length ---


def test_a_fixed_length_counts_the_start_mark() -> None:
    pieces = closed(SYNC_4, b"\x00\xaa\x01", b"\x02\x03\xaa\x04")
    assert told(pieces) == [
        ("noise", b"\x00", 0),
        ("frame", b"\xaa\x01\x02\x03", 0),
        ("truncated", b"\xaa\x04", 0),
    ]
    assert isinstance(pieces[1], Frame)
    assert pieces[1].payload == b"\x01\x02\x03"


def test_a_start_byte_inside_a_fixed_length_is_data() -> None:
    assert told(closed(SYNC_4, b"\xaa\xaa\xaa\xaa")) == [("frame", b"\xaa\xaa\xaa\xaa", 0)]


def test_frames_of_fixed_length_are_cut_from_one_chunk() -> None:
    assert told(closed(FrameSpec(length=2), b"abcde")) == [
        ("frame", b"ab", 0),
        ("frame", b"cd", 0),
        ("truncated", b"e", 0),
    ]


# --- seven bits ---


def test_masked_marks_are_found_and_raw_bytes_stay_as_they_came() -> None:
    # bit 7 set on start, digit, end and check byte: 82 b1 83 cb are STX 1 ETX K
    spec = FrameSpec(start=b"\x02", ends=(b"\x03",), tail=1, mask7=True)
    (only,) = closed(spec, b"\x82\xb1", b"\x83", b"\xcb")
    assert isinstance(only, Frame)
    assert (only.payload, only.end, only.tail) == (b"1", b"\x03", b"K")
    assert only.raw == b"\x82\xb1\xcb"


def test_a_masked_line_feed_is_swallowed_behind_a_masked_carriage_return() -> None:
    spec = FrameSpec(ends=(b"\r\n", b"\r", b"\n"), listed=True, mask7=True)
    assert told(closed(spec, b"\xb1\x8d", b"\x8a\xb2\x8d")) == [
        ("frame", b"\xb1", 0),
        ("frame", b"\xb2", 0),
    ]


def test_masked_noise_and_overlong_bytes_stay_as_they_came() -> None:
    spec = FrameSpec(start=b"\x02", ends=(b"\x03",), max_bytes=2, mask7=True)
    assert told(closed(spec, b"\xf8\x82\xb1\xb2\xb3\x83")) == [
        ("noise", b"\xf8", 0),
        ("overlong", b"\x82\xb1\xb2", 1),
    ]


def test_without_the_mask_bit_7_hides_an_end_mark() -> None:
    assert told(closed(FrameSpec(ends=(b"\r",)), b"1\x8d")) == [("truncated", b"1\x8d", 0)]
