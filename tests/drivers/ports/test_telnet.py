"""Telnet taken apart. Source of the wire form: RFC 854 and RFC 855 (from memory)."""

import pytest

from drivers.ports.telnet import MOST_SUBOPTION_BYTES, NotTelnet, Suboption, Telnet, Wish

WILL_BINARY = b"\xff\xfb\x00"
BAUD = b"\xff\xfa\x2c\x65\x00\x00\x25\xff\xff\xff\xf0"
STREAM = b"1" + WILL_BINARY + b".\xff\xff" + BAUD + b"\xff\xf15"  # FF F1 is "no operation"
PIECES = [
    ord("1"),
    Wish(b"\xfb", b"\x00"),
    ord("."),
    0xFF,
    Suboption(b"\x2c\x65\x00\x00\x25\xff"),
    ord("5"),
]


@pytest.mark.parametrize("size", [1, 2, 3, 5, len(STREAM)])
def test_any_cutting_gives_the_same_pieces(size: int) -> None:
    telnet = Telnet()
    cuts = [STREAM[start : start + size] for start in range(0, len(STREAM), size)]
    assert [piece for cut in cuts for piece in telnet.feed(cut)] == PIECES


def test_the_longest_suboption_is_taken_and_a_longer_one_is_not() -> None:
    begin, end = b"\xff\xfa", b"\xff\xf0"
    longest = b"x" * MOST_SUBOPTION_BYTES
    assert list(Telnet().feed(begin + longest + end)) == [Suboption(longest)]
    with pytest.raises(NotTelnet, match="1024"):
        list(Telnet().feed(begin + longest + b"x"))
