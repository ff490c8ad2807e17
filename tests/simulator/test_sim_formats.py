"""Every format against bytes typed by hand, check bytes worked out beside them."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulator.checksums import sum_of, xor_of
from simulator.formats import FORMATS
from simulator.gauge import Flags, Shown, Unit

MM = Shown(Decimal("59.982"), "mm")
TRAILING_ZERO = Shown(Decimal("59.980"), "mm")
INCH = Shown(Decimal("2.36150"), "in")
BELOW = Shown(Decimal("-0.004"), "mm")
ZERO = Shown(Decimal("0.000"), "mm")

PLAIN = Flags()
LOW = Flags(low_battery=True)
ZEROED = Flags(zeroed=True)
BOTH = Flags(low_battery=True, zeroed=True)

CASES = [
    ("number-unit-crlf", MM, 1, PLAIN, b"+59.982 mm\r\n"),
    ("number-unit-crlf", TRAILING_ZERO, 1, PLAIN, b"+59.980 mm\r\n"),
    ("number-unit-crlf", INCH, 1, PLAIN, b"+2.36150 in\r\n"),
    ("number-unit-crlf", BELOW, 1, PLAIN, b"-0.004 mm\r\n"),
    ("number-unit-crlf", ZERO, 1, PLAIN, b"+0.000 mm\r\n"),
    ("number-crlf", MM, 1, PLAIN, b"59.982\r\n"),
    ("number-crlf", TRAILING_ZERO, 1, PLAIN, b"59.980\r\n"),
    ("number-crlf", INCH, 1, PLAIN, b"2.36150\r\n"),
    ("number-crlf", BELOW, 1, PLAIN, b"-0.004\r\n"),
    ("comma-number-unit-lf", MM, 1, PLAIN, b"   59,982 mm\n"),
    ("comma-number-unit-lf", INCH, 1, PLAIN, b"  2,36150 in\n"),
    ("comma-number-unit-lf", BELOW, 1, PLAIN, b"   -0,004 mm\n"),
    ("channel-number-unit-cr", MM, 1, PLAIN, b"C1 59.982 mm\r"),
    ("channel-number-unit-cr", INCH, 3, PLAIN, b"C3 2.36150 in\r"),
    ("channel-number-unit-cr", BELOW, 12, PLAIN, b"C12 -0.004 mm\r"),
    # XOR of "+59.982 mm" ETX, running:
    #   2B ^35=1E ^39=27 ^2E=09 ^39=30 ^38=08 ^32=3A ^20=1A ^6D=77 ^6D=1A ^03=19
    ("stx-number-unit-etx-xor", MM, 1, PLAIN, b"\x02+59.982 mm\x03\x19"),
    # XOR of "+2.36150 in" ETX, running:
    #   2B ^32=19 ^2E=37 ^33=04 ^36=32 ^31=03 ^35=36 ^30=06 ^20=26 ^69=4F ^6E=21 ^03=22
    ("stx-number-unit-etx-xor", INCH, 1, PLAIN, b"\x02+2.36150 in\x03\x22"),
    # XOR of "-0.004 mm" ETX, running:
    #   2D ^30=1D ^2E=33 ^30=03 ^30=33 ^34=07 ^20=27 ^6D=4A ^6D=27 ^03=24
    ("stx-number-unit-etx-xor", BELOW, 1, PLAIN, b"\x02-0.004 mm\x03\x24"),
    # Sum of "59.982 mm", running:
    #   35 +39=6E +2E=9C +39=D5 +38=10D +32=13F +20=15F +6D=1CC +6D=239; low byte 39
    ("number-unit-sum-crlf", MM, 1, PLAIN, b"59.982 mm*39\r\n"),
    # Sum of "2.36150 in", running:
    #   32 +2E=60 +33=93 +36=C9 +31=FA +35=12F +30=15F +20=17F +69=1E8 +6E=256; low byte 56
    ("number-unit-sum-crlf", INCH, 1, PLAIN, b"2.36150 in*56\r\n"),
    # Sum of "-0.004 mm", running:
    #   2D +30=5D +2E=8B +30=BB +30=EB +34=11F +20=13F +6D=1AC +6D=219; low byte 19
    ("number-unit-sum-crlf", BELOW, 1, PLAIN, b"-0.004 mm*19\r\n"),
    # Sum of "50.000 mm", running:
    #   35 +30=65 +2E=93 +30=C3 +30=F3 +30=123 +20=143 +6D=1B0 +6D=21D; low byte 1D
    ("number-unit-sum-crlf", Shown(Decimal("50.000"), "mm"), 1, PLAIN, b"50.000 mm*1D\r\n"),
    # Sum of "0.000 mm", running:
    #   30 +2E=5E +30=8E +30=BE +30=EE +20=10E +6D=17B +6D=1E8; low byte E8
    ("number-unit-sum-crlf", ZERO, 1, PLAIN, b"0.000 mm*E8\r\n"),
    ("number-unit-status-crlf", MM, 1, PLAIN, b"59.982 mm,00\r\n"),
    ("number-unit-status-crlf", MM, 1, LOW, b"59.982 mm,01\r\n"),
    ("number-unit-status-crlf", MM, 1, ZEROED, b"59.982 mm,02\r\n"),
    ("number-unit-status-crlf", INCH, 1, BOTH, b"2.36150 in,03\r\n"),
]


@pytest.mark.parametrize(("name", "shown", "channel", "flags", "expected"), CASES)
def test_bytes_typed_by_hand(
    name: str, shown: Shown, channel: int, flags: Flags, expected: bytes
) -> None:
    assert FORMATS[name].encode(shown, channel, flags) == expected


def test_every_format_is_among_the_cases() -> None:
    assert {case[0] for case in CASES} == set(FORMATS)
    assert all(format_.title for format_ in FORMATS.values())


def test_a_number_wider_than_its_columns_is_refused() -> None:
    encode = FORMATS["comma-number-unit-lf"].encode
    assert encode(Shown(Decimal("-1000.000"), "mm"), 1, PLAIN) == b"-1000,000 mm\n"
    with pytest.raises(ValueError, match="does not fit"):
        encode(Shown(Decimal("-10000.000"), "mm"), 1, PLAIN)


def test_channels_count_from_one() -> None:
    with pytest.raises(ValueError, match="from 1"):
        FORMATS["channel-number-unit-cr"].encode(MM, 0, PLAIN)


def test_tiny_digits_are_never_sent_in_powers_of_ten() -> None:
    shown = Shown(Decimal("0.00000005"), "in")
    assert FORMATS["number-crlf"].encode(shown, 1, PLAIN) == b"0.00000005\r\n"


@pytest.mark.parametrize("name", FORMATS)
@given(thousandths=st.integers(-99999, 99999), unit=st.sampled_from(["mm", "in"]))
def test_the_number_comes_back_out_of_every_frame(name: str, thousandths: int, unit: Unit) -> None:
    digits = Decimal(thousandths).scaleb(-3)
    frame = FORMATS[name].encode(Shown(digits, unit), 1, PLAIN)
    text = frame.lstrip(b"\x02").removeprefix(b"C1 ").replace(b",", b".", 1).split()[0]
    if name != "number-unit-status-crlf":
        assert Decimal(text.decode("ascii")) == digits
    assert (f" {unit}".encode() in frame) == (name != "number-crlf")


# Check bytes of the nine digits, worked by hand:
#   XOR 31 ^32=03 ^33=30 ^34=04 ^35=31 ^36=07 ^37=30 ^38=08 ^39=31
#   sum 9 * 30h = 1B0h, and 1 + ... + 9 = 2Dh, together 1DDh; low byte DD
def test_check_bytes_of_the_nine_digits() -> None:
    assert xor_of(b"123456789") == 0x31
    assert sum_of(b"123456789") == 0xDD


def test_check_bytes_of_nothing_and_of_an_overflow() -> None:
    assert (xor_of(b""), sum_of(b"")) == (0, 0)
    assert (xor_of(b"\xff\xff"), sum_of(b"\xff\xff")) == (0x00, 0xFE)
