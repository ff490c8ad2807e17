"""Where frames begin and end, from the bytes of a few presses."""

import pytest

from drivers.inference.line import PLAUSIBLE, plausibility, seventh_bit
from drivers.inference.marks import cut
from drivers.inference.said import CannotInfer


def even(data: bytes) -> bytes:
    """Seven data bits and an even parity bit, as an eight-bit port sees them."""
    return bytes(byte | (byte.bit_count() & 1) << 7 for byte in data)


@pytest.mark.parametrize(
    ("bursts", "start", "ends", "tail"),
    [
        ([b"1.2\r\n", b"3.4\r\n"], b"", (b"\r\n",), 0),
        ([b"1.2\r", b"3.4\r"], b"", (b"\r",), 0),
        ([b"1.2\n", b"3.4\n"], b"", (b"\n",), 0),
        ([b"1.2\n\r", b"3.4\n\r"], b"", (b"\n\r",), 0),
        ([b"1.2\r", b"3.4\r\n", b"5\n"], b"", (b"\r\n", b"\r", b"\n"), 0),
        ([b"\x021.2\x03", b"\x023.4\x03"], b"\x02", (b"\x03",), 0),
        ([b"\x021.2\x03\r\n", b"\x023.4\x03\r\n"], b"\x02", (b"\x03\r\n",), 0),
        ([b"\x021.2\x03\x2d", b"\x023.4\x03\x19"], b"\x02", (b"\x03",), 1),
        ([b"\x021.2\x03\xff", b"\x023.4\x03\x02"], b"\x02", (b"\x03",), 1),
        ([b"1.2\x04", b"3.4\x04"], b"", (b"\x04",), 0),
        ([b"00120", b"00340"], b"", (), 0),
    ],
)
def test_marks_are_found(
    bursts: list[bytes], start: bytes, ends: tuple[bytes, ...], tail: int
) -> None:
    found = cut(bursts, is_timed=True)
    assert (found.marks.start, found.marks.ends, found.marks.tail) == (start, ends, tail)
    assert [piece.press for piece in found.pieces] == list(range(len(bursts)))
    assert found.marks.seventh is None


def test_parity_in_bit_7_is_seen_through() -> None:
    found = cut([even(b"1.2\r\n"), even(b"3.4\r\n")], is_timed=True)
    assert found.marks.seventh == "even"
    assert [piece.text for piece in found.pieces] == [b"1.2", b"3.4"]
    assert found.pieces[0].raw == even(b"1.2\r\n")


def test_bit_7_that_no_parity_explains_is_no_text() -> None:
    assert seventh_bit(b"12.3 \xb5m") is None
    with pytest.raises(CannotInfer, match="Press 1 is no text"):
        cut([b"12.3 \xb5m\r\n", b"12.4 \xb5m\r\n"], is_timed=True)


def test_a_capture_may_end_in_half_a_frame() -> None:
    found = cut([b"1.2\r\n3.4\r\n5."], is_timed=False)
    assert [piece.text for piece in found.pieces] == [b"1.2", b"3.4"]
    assert found.left == b"5."


def test_a_capture_without_end_marks_needs_the_number_of_presses() -> None:
    with pytest.raises(CannotInfer, match="--presses"):
        cut([b"001200034000560"], is_timed=False)
    found = cut([b"001200034000560"], is_timed=False, presses=3)
    assert [piece.text for piece in found.pieces] == [b"00120", b"00340", b"00560"]


def test_a_stream_is_not_a_few_presses() -> None:
    with pytest.raises(CannotInfer, match="more than 500 readings"):
        cut([b"1\n" * 501], is_timed=False)


@pytest.mark.parametrize(
    ("data", "is_text"),
    [
        (b"+59.982 mm\r\n", True),
        (even(b"+59.982 mm\r\n"), True),
        (b"\x02+1.5 mm\x03\x1d", True),  # a check byte may be anything
        (b"\x00\xf8\x80\x00\xfe\x06\x9e", False),  # what 9600 baud makes of another rate
        (b"NOTHING\r\n", False),  # no digit
    ],
)
def test_text_is_told_from_a_wrong_baud_rate(data: bytes, is_text: bool) -> None:
    assert (plausibility(data) >= PLAUSIBLE) is is_text
