"""Bytes to frames: end marks, start marks, fixed lengths, silence and bounded memory."""

import pytest

from drivers.dialects.framing import Flaw, Frame, Framer, Piece
from drivers.profile.frame_spec import FrameSpec
from drivers.reading import Instant

ANY_END = FrameSpec(ends=(b"\r\n", b"\r", b"\n"), listed=True)
CRLF = FrameSpec(ends=(b"\r\n",))
STX_ETX = FrameSpec(start=b"\x02", ends=(b"\x03",), max_bytes=4)
ETX_TAIL = FrameSpec(ends=(b"\x03",), tail=1, max_bytes=4)


def at(ms: int) -> Instant:
    return Instant(ms * 1000, ms * 1_000_000)


def fed(spec: FrameSpec, *chunks: bytes | tuple[int, bytes]) -> list[Piece]:
    """The pieces of chunks, all at 0 ms where no time is given; no silence after them."""
    framer = Framer(spec)
    out: list[Piece] = []
    for chunk in chunks:
        ms, data = (0, chunk) if isinstance(chunk, bytes) else chunk
        out += framer.feed(data, at(ms))
    return out


def closed(spec: FrameSpec, *chunks: bytes) -> list[Piece]:
    """The pieces of chunks at 0 ms, then two seconds of silence."""
    framer = Framer(spec)
    out = [piece for chunk in chunks for piece in framer.feed(chunk, at(0))]
    return out + framer.idle(at(2000))


def told(pieces: list[Piece]) -> list[tuple[str, bytes]]:
    """What each piece is and its raw bytes."""
    return [("frame" if isinstance(p, Frame) else p.code, p.raw) for p in pieces]


def frame(piece: Piece) -> Frame:
    assert isinstance(piece, Frame)
    return piece


def flaw(piece: Piece) -> Flaw:
    assert isinstance(piece, Flaw)
    return piece


# --- end marks ---


def test_a_listed_carriage_return_ends_a_frame_at_once() -> None:
    (only,) = fed(ANY_END, b"1.5\r")
    assert (frame(only).payload, frame(only).raw, frame(only).end) == (b"1.5", b"1.5", b"\r")


def test_the_line_feed_behind_a_listed_carriage_return_belongs_to_it_across_chunks() -> None:
    assert told(fed(ANY_END, b"1\r", (20, b"\n2\r"), (40, b"\n"))) == [
        ("frame", b"1"),
        ("frame", b"2"),
    ]


def test_only_one_line_feed_belongs_to_a_carriage_return() -> None:
    assert told(fed(ANY_END, b"1\r\n\n")) == [("frame", b"1"), ("frame", b"")]


def test_a_line_feed_after_silence_is_a_frame_of_its_own() -> None:
    assert told(fed(ANY_END, b"1\r", (500, b"\n"))) == [("frame", b"1"), ("frame", b"")]


def test_silence_told_by_idle_parts_carriage_return_and_line_feed_too() -> None:
    framer = Framer(ANY_END)
    assert told(framer.feed(b"1\r", at(0))) == [("frame", b"1")]
    assert framer.idle(at(500)) == []
    assert told(framer.feed(b"\n", at(510))) == [("frame", b"")]


def test_a_single_carriage_return_end_takes_no_line_feed() -> None:
    assert told(fed(FrameSpec(ends=(b"\r",)), b"1\r\n2\r")) == [("frame", b"1"), ("frame", b"\n2")]


@pytest.mark.parametrize("ends", [(b";", b";;"), (b";;", b";")])
def test_the_longest_end_that_fits_is_taken_whatever_the_order(ends: tuple[bytes, ...]) -> None:
    pieces = fed(FrameSpec(ends=ends, listed=True), b"a;;b;c")
    assert [(frame(p).payload, frame(p).end) for p in pieces] == [(b"a", b";;"), (b"b", b";")]


def test_an_end_that_may_grow_waits_for_the_next_byte() -> None:
    framer = Framer(FrameSpec(ends=(b";", b";;"), listed=True))
    assert framer.feed(b"a;", at(0)) == []
    assert told(framer.feed(b"b", at(10))) == [("frame", b"a")]
    assert framer.feed(b";", at(20)) == []
    (grown,) = framer.feed(b";", at(30))
    assert (frame(grown).payload, frame(grown).end) == (b"b", b";;")


def test_silence_settles_an_end_that_might_have_grown() -> None:
    (only,) = closed(FrameSpec(ends=(b";", b";;"), listed=True), b"a;")
    assert (frame(only).payload, frame(only).end) == (b"a", b";")


@pytest.mark.parametrize("chunks", [(b"x\r\n\r\n",), (b"x\r\n", b"\r\n"), (b"x", b"\r\n\r", b"\n")])
def test_a_short_end_inside_a_longer_begun_one_waits_for_it(chunks: tuple[bytes, ...]) -> None:
    (only,) = fed(FrameSpec(ends=(b"\r\n\r\n", b"\n"), listed=True), *chunks)
    assert (frame(only).payload, frame(only).end) == (b"x", b"\r\n\r\n")


def test_a_short_end_stands_when_the_longer_one_does_not_come() -> None:
    (only,) = fed(FrameSpec(ends=(b"\r\n\r\n", b"\n"), listed=True), b"x\r\n", b"y")
    assert (frame(only).payload, frame(only).end) == (b"x\r", b"\n")


def test_two_end_marks_in_a_row_hold_an_empty_frame() -> None:
    assert told(fed(CRLF, b"1\r\n\r\n")) == [("frame", b"1"), ("frame", b"")]


# --- silence ---


def test_a_gap_inside_a_frame_cuts_it() -> None:
    assert told(fed(CRLF, b"12", (500, b"34\r\n"))) == [("truncated", b"12"), ("frame", b"34")]


def test_a_pause_shorter_than_the_gap_does_not_cut() -> None:
    assert told(fed(CRLF, b"12", (499, b"34\r\n"))) == [("frame", b"1234")]


def test_an_idle_call_before_the_gap_is_full_says_nothing() -> None:
    framer = Framer(CRLF)
    framer.feed(b"12", at(0))
    assert framer.idle(at(499)) == []
    assert told(framer.idle(at(500))) == [("truncated", b"12")]
    assert framer.idle(at(5000)) == []


def test_without_end_or_length_a_gap_ends_a_frame() -> None:
    spec = FrameSpec(idle_ms=40)
    assert told(fed(spec, b"00", (20, b"12"), (60, b"34"), (100, b"5"))) == [
        ("frame", b"0012"),
        ("frame", b"34"),
    ]


def test_a_frame_has_the_time_of_its_last_byte() -> None:
    framer = Framer(FrameSpec(idle_ms=40))
    framer.feed(b"00", at(0))
    framer.feed(b"12", at(20))
    assert [piece.at for piece in framer.idle(at(90))] == [at(20)]


def test_only_half_read_bytes_wait_for_silence() -> None:
    framer = Framer(CRLF)
    waiting = [framer.is_waiting]
    for piece in (b"1\r", b"\n"):
        framer.feed(piece, at(0))
        waiting.append(framer.is_waiting)
    assert waiting == [False, True, False]
    assert framer.idle_s == 0.5


# --- start marks ---


def test_a_start_mark_split_over_chunks_is_found() -> None:
    spec = FrameSpec(start=b"\x10\x02", ends=(b"\x03",))
    (only,) = fed(spec, b"\x10", b"\x021", b"\x03")
    assert (frame(only).payload, frame(only).raw) == (b"1", b"\x10\x021")


def test_a_false_beginning_of_a_start_mark_is_noise() -> None:
    spec = FrameSpec(start=b"\x10\x02", ends=(b"\x03",))
    assert told(fed(spec, b"\x10", b"\x10\x021\x03")) == [
        ("noise", b"\x10"),
        ("frame", b"\x10\x021"),
    ]


def test_a_start_mark_begun_before_silence_is_noise() -> None:
    assert told(closed(FrameSpec(start=b"\x10\x02", ends=(b"\x03",)), b"\x10")) == [
        ("noise", b"\x10")
    ]


def test_noise_is_one_event_however_many_ends_are_among_it() -> None:
    assert told(fed(STX_ETX, b"a\x03b", b"\x03", b"\x021\x03")) == [
        ("noise", b"a\x03b\x03"),
        ("frame", b"\x021"),
    ]


def test_noise_is_counted_but_not_kept() -> None:
    noise, good = fed(STX_ETX, *[b"x" * 100] * 10, b"\x021\x03")
    assert (flaw(noise).code, flaw(noise).raw, flaw(noise).skipped) == ("noise", b"xxxx", 996)
    assert frame(good).payload == b"1"


def test_a_frame_of_a_start_mark_alone_is_empty() -> None:
    (only,) = closed(FrameSpec(start=b"\x02"), b"\x02")
    assert (frame(only).payload, frame(only).raw) == (b"", b"\x02")


# --- bytes behind the end ---


def test_a_tail_byte_is_waited_for_and_kept_apart() -> None:
    framer = Framer(ETX_TAIL)
    assert framer.feed(b"1\x03", at(0)) == []
    (only,) = framer.feed(b"K", at(10))
    got = frame(only)
    assert (got.payload, got.end, got.tail, got.raw) == (b"1", b"\x03", b"K", b"1K")


def test_a_tail_byte_may_look_like_an_end_mark() -> None:
    first, second = fed(ETX_TAIL, b"1\x03\x032\x03K")
    assert (frame(first).tail, frame(second).payload) == (b"\x03", b"2")


def test_silence_in_place_of_the_tail_is_truncated() -> None:
    assert told(closed(ETX_TAIL, b"1\x03")) == [("truncated", b"1\x03")]


@pytest.mark.parametrize("chunks", [(b"1\r\nK2\rL",), (b"1\r", b"\n", b"K2\r", b"L")])
def test_a_tail_stands_behind_the_line_feed_of_a_listed_carriage_return(
    chunks: tuple[bytes, ...],
) -> None:
    pieces = fed(FrameSpec(ends=(b"\r",), listed=True, tail=1), *chunks)
    assert [(frame(p).payload, frame(p).tail) for p in pieces] == [(b"1", b"K"), (b"2", b"L")]
