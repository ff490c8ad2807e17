"""Check characters, each worked by hand in hexadecimal."""

from collections.abc import Callable

import pytest

from drivers.dialects.checksums import CHECKSUMS, crc16_modbus
from drivers.reading import Outcome, Reading

Decode = Callable[..., list[Outcome]]

INT = '[[layout]]\nname = "number"\nform = "int"\n'


def profile(check: str, frame: str = 'end = "\\r"\ntail = 1\n') -> str:
    return f'schema = 1\nid = "t"\nkind = "text"\n[frame]\n{frame}[check]\n{check}{INT}'


def told(outcomes: list[Outcome]) -> str:
    (only,) = outcomes
    return str(only.value) if isinstance(only, Reading) else only.code


@pytest.mark.parametrize(
    ("kind", "data", "due"),
    [
        ("xor8", b"12", 0x03),  # 31 ^ 32
        ("xor8", b"1.5", 0x2A),  # 31 ^ 2e = 1f, ^ 35 = 2a
        ("xor8", b"", 0x00),
        ("sum8", b"12", 0x63),  # 31 + 32
        ("sum8", b"zzz", 0x6E),  # 3 * 7a = 16e
        ("sum8", b"\xff\x01", 0x00),
        ("sum8", b"", 0x00),
    ],
)
def test_a_checksum_is_that_of_the_hand_calculation(kind: str, data: bytes, due: int) -> None:
    assert CHECKSUMS[kind](data) == due


@pytest.mark.parametrize(
    ("check", "frame"),
    [
        ('kind = "xor8"\nform = "raw"\n', b"12\r\x03"),
        ('kind = "sum8"\nform = "raw"\n', b"12\rc"),  # 63
        # the end mark counts too: 03 ^ 0d = 0e, 63 + 0d = 70
        ('kind = "xor8"\nform = "raw"\nover = "payload+end"\n', b"12\r\x0e"),
        ('kind = "sum8"\nform = "raw"\nover = "payload+end"\n', b"12\rp"),
    ],
)
def test_a_raw_check_is_the_byte_behind_the_end(decode: Decode, check: str, frame: bytes) -> None:
    assert told(decode(profile(check), frame)) == "12"
    assert told(decode(profile(check), frame[:-1] + b"?")) == "checksum"
    assert told(decode(profile(check), b"13" + frame[2:])) == "checksum"


def test_a_raw_check_over_a_listed_end_counts_its_line_feed(decode: Decode) -> None:
    text = profile(
        'kind = "sum8"\nform = "raw"\nover = "payload+end"\n', 'end = ["\\r"]\ntail = 1\n'
    )
    assert told(decode(text, b"12\r\nz")) == "12"  # 63 + 0d + 0a = 7a
    assert told(decode(text, b"12\rp")) == "12"


def test_a_raw_check_does_not_count_the_start_mark(decode: Decode) -> None:
    text = profile(
        'kind = "xor8"\nform = "raw"\n', 'start = "\\u0002"\nend = "\\u0003"\ntail = 1\n'
    )
    assert told(decode(text, b"\x0212\x03\x03")) == "12"


@pytest.mark.parametrize("digits", [b"AB", b"ab", b"Ab"])
def test_hex_check_digits_come_in_either_case(decode: Decode, digits: bytes) -> None:
    text = profile('kind = "sum8"\nform = "hex2"\nsep = "*"\n', 'end = "\\r"\n')
    assert told(decode(text, b"999*" + digits + b"\r")) == "999"  # 3 * 39 = ab


def test_hex_check_digits_may_stand_without_a_separator(decode: Decode) -> None:
    text = profile('kind = "xor8"\nform = "hex2"\n', 'end = "\\r"\n')
    assert told(decode(text, b"1203\r")) == "12"


@pytest.mark.parametrize(
    ("sent", "code"),
    [
        (b"12*64\r", "checksum"),
        (b"12*6\r", "syntax"),
        (b"12*\r", "syntax"),
        (b"12\r", "syntax"),
        (b"1\r", "syntax"),
        (b"12#63\r", "syntax"),
        (b"12*0x63\r", "syntax"),
        (b"12*+3\r", "syntax"),
        (b"12* 3\r", "syntax"),
        (b"*00\r", "syntax"),  # the sum of nothing is right, but there is no number
    ],
)
def test_a_missing_hex_check_is_syntax_and_a_wrong_one_checksum(
    decode: Decode, sent: bytes, code: str
) -> None:
    text = profile('kind = "sum8"\nform = "hex2"\nsep = "*"\n', 'end = "\\r"\n')
    assert told(decode(text, sent)) == code


def test_seven_data_bits_carry_seven_bits_of_a_raw_sum(decode: Decode) -> None:
    text = profile('kind = "sum8"\nform = "raw"\n', 'end = "\\r"\ntail = 1\nmask7 = true\n')
    assert told(decode(text, b"999\r\x2b")) == "999"  # ab without its bit 7
    assert told(decode(text, b"999\r\xab")) == "999"


@pytest.mark.parametrize(
    ("data", "crc"),
    [
        # The check value that the catalogue of parametrised CRC algorithms (reveng.sourceforge.io,
        # CRC-16/MODBUS) gives for these nine characters, from memory.
        (b"123456789", 0x4B37),
        # Worked with another implementation, pymodbus 3.16.1: the low byte C5 goes first.
        (bytes.fromhex("01030000000a"), 0xCDC5),
        (b"", 0xFFFF),  # the start value, nothing having gone through it
    ],
)
def test_the_crc_of_modbus_is_that_of_the_published_check_value(data: bytes, crc: int) -> None:
    assert crc16_modbus(data) == crc


def test_a_frame_with_its_crc_low_byte_first_leaves_nothing() -> None:
    frame = bytes.fromhex("01030000000ac5cd")
    assert crc16_modbus(frame) == 0
