"""Every format against bytes typed by hand, check bytes worked out beside them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulator.checksums import modbus_crc, sum_of, xor_of
from simulator.formats import FORMATS
from simulator.gauge import Flags, Shown, Unit
from simulator.registers import Registers

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
    ("ask-number-unit-cr", MM, 1, PLAIN, b"59.982 mm\r"),
    ("ask-number-unit-cr", BELOW, 1, PLAIN, b"-0.004 mm\r"),
    ("keyboard-number-enter", TRAILING_ZERO, 1, PLAIN, b"59.980\n"),
    ("keyboard-number-enter", INCH, 1, PLAIN, b"2.36150\n"),
    # Halves 0 3 0 0 5 9 9 8 2 0 0; XOR 3 ^5=6 ^9=F ^9=6 ^8=E ^2=C
    ("bcd-nibbles-xor", MM, 1, PLAIN, bytes.fromhex("AA 03 00 59 98 20 0C")),
    # Halves 2 5 0 2 3 6 1 5 0 0 1; XOR 2 ^5=7 ^2=5 ^3=6 ^6=0 ^1=1 ^5=4 ^1=5
    ("bcd-nibbles-xor", INCH, 1, LOW, bytes.fromhex("AA 25 02 36 15 00 15")),
    # Halves 0 3 0 0 0 0 0 0 4 1 0; XOR 3 ^4=7 ^1=6
    ("bcd-nibbles-xor", BELOW, 1, PLAIN, bytes.fromhex("AA 03 00 00 00 41 06")),
    # 59982 = EA4E hex; -4 is FFFFFFFC. The check bytes of Modbus frames are pymodbus 3.16.1's.
    ("modbus-int32", MM, 1, PLAIN, bytes.fromhex("01 03 04 00 00 EA 4E 35 67")),
    ("modbus-int32", BELOW, 17, PLAIN, bytes.fromhex("11 03 04 FF FF FF FC AA 67")),
    ("modbus-uint32", MM, 1, PLAIN, bytes.fromhex("01 03 04 00 00 EA 4E 35 67")),
    # 5998 hundredths = 176E hex; -0.004 rounds to none
    ("modbus-int16", MM, 1, PLAIN, bytes.fromhex("01 03 02 17 6E 36 58")),
    ("modbus-int16", BELOW, 1, PLAIN, bytes.fromhex("01 03 02 00 00 B8 44")),
    ("modbus-uint16", MM, 1, PLAIN, bytes.fromhex("01 03 02 17 6E 36 58")),
    # 59.982 = 1.8744375 * 2^5: sign 0, exponent 84 hex, fraction .8744375 * 2^23 = 7335313 = 6FED91
    ("modbus-float32", MM, 1, PLAIN, bytes.fromhex("01 03 04 42 6F ED 91 52 AA")),
]


TEXT_FORMATS = [
    name
    for name, format_ in FORMATS.items()
    if format_.registers is None and not name.startswith("bcd")
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


@pytest.mark.parametrize("name", TEXT_FORMATS)
@given(thousandths=st.integers(-99999, 99999), unit=st.sampled_from(["mm", "in"]))
def test_the_number_comes_back_out_of_every_frame(name: str, thousandths: int, unit: Unit) -> None:
    digits = Decimal(thousandths).scaleb(-3)
    frame = FORMATS[name].encode(Shown(digits, unit), 1, PLAIN)
    text = frame.lstrip(b"\x02").removeprefix(b"C1 ").replace(b",", b".", 1).split()[0]
    if name != "number-unit-status-crlf":
        assert Decimal(text.decode("ascii")) == digits
    is_bare = name in ("number-crlf", "keyboard-number-enter")
    assert (f" {unit}".encode() in frame) == (not is_bare)


@given(thousandths=st.integers(-9999999, 9999999), unit=st.sampled_from(["mm", "in"]))
def test_the_number_comes_back_out_of_packed_nibbles(thousandths: int, unit: Unit) -> None:
    digits = Decimal(thousandths).scaleb(-3)
    frame = FORMATS["bcd-nibbles-xor"].encode(Shown(digits, unit), 1, PLAIN)
    halves = frame.hex()[2:]
    assert Decimal(("-" if halves[9] == "1" else "") + halves[2:9]).scaleb(-3) == digits
    assert (halves[1], halves[10]) == ("3", "1" if unit == "in" else "0")
    assert xor_of(bytes(int(half, 16) for half in halves)) == 0


def test_what_does_not_fit_in_nibbles_or_registers_is_refused() -> None:
    with pytest.raises(ValueError, match="does not fit in 7 digits"):
        FORMATS["bcd-nibbles-xor"].encode(Shown(Decimal("12345.678"), "mm"), 1, PLAIN)
    assert FORMATS["bcd-nibbles-xor"].encode(Shown(Decimal("-0.000"), "mm"), 1, PLAIN)[5] == 0
    with pytest.raises(ValueError, match="no int16"):
        FORMATS["modbus-int16"].encode(Shown(Decimal("330.000"), "mm"), 1, PLAIN)
    with pytest.raises(ValueError, match="no uint32"):
        FORMATS["modbus-uint32"].encode(BELOW, 1, PLAIN)
    with pytest.raises(ValueError, match="in millimetres"):
        FORMATS["modbus-int32"].encode(INCH, 1, PLAIN)


def test_the_low_word_can_be_first() -> None:
    # 59982 = 0000 EA4E hex
    assert Registers("int32", "little").written(MM).hex() == "ea4e0000"
    assert Registers("float32", "little").written(MM).hex() == "ed91426f"
    assert Registers("int16", "little", decimals=2).written(MM).hex() == "176e"


@pytest.mark.parametrize(
    ("settings", "reason"),
    [
        ({"kind": "int8"}, "not 'int8'"),
        ({"words": "middle"}, "big or little"),
        ({"decimals": 10}, "0 to 9"),
        ({"address": 65535}, "0 to 65535"),
        ({"address": -1}, "0 to 65535"),
    ],
)
def test_registers_that_no_gauge_has(settings: dict[str, Any], reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        Registers(**settings)


# Source: the worked example of many Modbus texts, from memory, and pymodbus 3.16.1
def test_the_modbus_check_of_a_known_request() -> None:
    assert modbus_crc(bytes.fromhex("01 03 00 00 00 0A")).hex() == "c5cd"


# Check bytes of the nine digits, worked by hand:
#   XOR 31 ^32=03 ^33=30 ^34=04 ^35=31 ^36=07 ^37=30 ^38=08 ^39=31
#   sum 9 * 30h = 1B0h, and 1 + ... + 9 = 2Dh, together 1DDh; low byte DD
def test_check_bytes_of_the_nine_digits() -> None:
    assert xor_of(b"123456789") == 0x31
    assert sum_of(b"123456789") == 0xDD


def test_check_bytes_of_nothing_and_of_an_overflow() -> None:
    assert (xor_of(b""), sum_of(b"")) == (0, 0)
    assert (xor_of(b"\xff\xff"), sum_of(b"\xff\xff")) == (0x00, 0xFE)
