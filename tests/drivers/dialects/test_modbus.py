"""Modbus RTU replies: when they are complete, the order of the tests, numbers, echo, silence."""

import math
import struct
from decimal import ROUND_HALF_EVEN, Context, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.dialects.checksums import crc16_modbus
from drivers.dialects.codec import Codec, codec_for
from drivers.dialects.modbus import WHOLE_MS
from drivers.dialects.modbus_reply import rounded_single
from drivers.profile.file import parse_profile
from drivers.reading import Instant, Outcome, Reading, Reject, plain

IDLE_MS = 50  # longer than WHOLE_MS, so that both silences show
INT16 = 'count = 1\ntype = "int16"\n'
UINT16 = 'count = 1\ntype = "uint16"\n'
INT32 = 'count = 2\ntype = "int32"\nwords = "big"\n'
SWAPPED = INT32.replace("big", "little")
UINT32 = 'count = 2\ntype = "uint32"\nwords = "big"\n'
FLOAT32 = 'count = 2\ntype = "float32"\nwords = "big"\ndecimals = 3\n'


def codec(keys: str = INT16, more: str = '[value]\nunit = "mm"\n') -> Codec:
    return codec_for(
        parse_profile(
            f'schema = 1\nid = "t"\nkind = "modbus-rtu"\n[frame]\nidle_ms = {IDLE_MS}\n[modbus]\n'
            f"unit_id = 2\nfunction = 3\naddress = 258\n{keys}{more}",
            "t.toml",
        )
    )


def at(ms: float) -> Instant:
    return Instant(int(ms * 1000), int(ms * 1_000_000))


def closed(body: str) -> bytes:
    """Hex digits and the CRC behind them, low byte first."""
    frame = bytes.fromhex(body)
    return frame + crc16_modbus(frame).to_bytes(2, "little")


def told(outcomes: list[Outcome]) -> list[str]:
    return [plain(o.value) if isinstance(o, Reading) else o.code for o in outcomes]


def waits(one: Codec) -> bool:
    """Whether it wants to be told of silence."""
    return one.silence_s is not None


def closing(one: Codec, data: bytes, ms: float = 0) -> list[Outcome]:
    """The outcomes of bytes and the silence that ends a whole reply."""
    return one.feed(data, at(ms)) + one.idle(at(ms + WHOLE_MS))


def judged(keys: str, frame: bytes, more: str = "") -> str:
    """The one outcome of a frame and silence."""
    one = codec(keys, more)
    (only,) = told(one.feed(frame, at(0)) + one.idle(at(1000)))
    return only


# --- the request ---


def test_the_request_is_unit_function_address_count_and_crc() -> None:
    # 258 = 0102
    assert codec(INT16).request() == closed("020301020001")
    assert codec(INT32).request() == closed("020301020002")


def test_a_request_of_ten_registers_would_end_in_the_known_crc() -> None:
    # 01 03 00 00 00 0A -> C5 CD, as pymodbus 3.16.1 sends it
    assert closed("01030000000a")[-2:].hex() == "c5cd"


# --- numbers ---


@pytest.mark.parametrize(
    ("keys", "data", "value"),
    [
        (INT16, "7fff", "32767"),
        (INT16, "8000", "-32768"),
        (INT16 + "decimals = 3\n", "ffff", "-0.001"),
        (UINT16, "ffff", "65535"),
        (INT32, "00010002", "65538"),
        (SWAPPED, "00020001", "65538"),
        (INT32, "80000000", "-2147483648"),
        (UINT32 + "decimals = 4\n", "80000000", "214748.3648"),
        (INT32 + "decimals = 2\n", "00000000", "0.00"),
    ],
)
def test_registers_make_the_number_of_their_type(keys: str, data: str, value: str) -> None:
    assert judged(keys, closed(f"0203{len(data) // 2:02x}{data}")) == value


@pytest.mark.parametrize(
    ("bits", "value"),
    [
        ("3fc00000", "1.500"),
        ("c1200000", "-10.000"),
        ("80000000", "0.000"),
        ("00000001", "0.000"),  # 2**-149, the smallest
        ("3a000000", "0.000"),  # 2**-11 = 0.00048828125
        ("3b000000", "0.002"),  # 2**-9 = 0.001953125
        ("3d800000", "0.062"),  # 2**-4 = 0.0625 exactly: half, to the even 2
        ("3dc00000", "0.094"),  # 3 * 2**-5 = 0.09375: over half
        ("3e3c0000", "0.184"),  # 47 * 2**-8 = 0.18359375
        ("3f700000", "0.938"),  # 15 * 2**-4 = 0.9375: half, to the even 8
        ("4b800000", "16777216.000"),  # 2**24
        ("7f7fffff", "340282346638528859811704183484516925440.000"),  # the greatest
        ("7f800000", "gauge.not-a-number"),
        ("ff800000", "gauge.not-a-number"),
        ("7fc00000", "gauge.not-a-number"),
        ("7f800001", "gauge.not-a-number"),
    ],
)
def test_a_single_is_rounded_half_to_even_from_its_exact_value(bits: str, value: str) -> None:
    assert judged(FLOAT32, closed(f"020304{bits}")) == value


@given(bits=st.integers(0, 2**32 - 1), decimals=st.integers(0, 12))
def test_a_single_is_rounded_as_the_decimal_module_does(bits: int, decimals: int) -> None:
    (number,) = struct.unpack(">f", bits.to_bytes(4, "big"))
    got = rounded_single(bits, decimals)
    if not math.isfinite(number):
        assert got is None
        return
    exact = Decimal(number)  # exact: every binary fraction is a decimal one
    wide = Context(prec=400)
    assert got is not None
    assert Decimal(got).scaleb(-decimals, wide) == exact.quantize(
        Decimal((0, (1,), -decimals)), ROUND_HALF_EVEN, wide
    )


def test_a_single_below_the_normal_ones_has_the_least_exponent() -> None:
    # 007fffff is (1 - 2**-23) * 2**-126 = 1.1754942E-38
    assert rounded_single(0x007F_FFFF, 40) == 118
    assert rounded_single(0x807F_FFFF, 40) == -118


def test_resolution_is_one_unit_of_the_last_decimal_or_as_declared() -> None:
    frame = closed("0203020001")
    (only,) = closing(codec(INT16 + "decimals = 3\n"), frame)
    assert isinstance(only, Reading)
    assert (plain(only.value), plain(only.resolution), only.unit) == ("0.001", "0.001", "mm")
    (only,) = closing(codec(INT16, '[value]\nresolution = "5"\n'), frame)
    assert isinstance(only, Reading)
    assert (plain(only.resolution), only.unit, only.channel) == ("5", "", None)


# --- the order of the tests ---

SENTINEL = 'sentinel_hex = "7FFF"\nsentinel_name = "no-signal"\n'


@pytest.mark.parametrize(
    ("frame", "outcome"),
    [
        (b"\x02", "truncated"),
        (b"\x02\x03", "truncated"),
        (closed("0203020001")[:-1], "truncated"),
        (closed("028302")[:-1], "truncated"),
        (closed("0203020001") + b"\x00", "overlong"),
        (b"\x09\x03\x02\x00\x01\x00\x00\x00", "overlong"),  # before its CRC and unit are looked at
        (closed("028302") + b"\x00", "overlong"),
        (b"\x09\x03\x02\x00\x01\x00\x00", "checksum"),  # before the unit
        (closed("0903020001"), "address"),
        (closed("0904020001"), "address"),  # before the function
        (closed("0204020001"), "syntax"),
        (closed("028402"), "syntax"),  # another function's exception
        (closed("09830b"), "address"),
        (closed("02830b"), "modbus.exception-11"),
        (closed("028302"), "modbus.exception-02"),
        (closed("0283ff"), "modbus.exception-255"),
        (closed("02030400010002"), "syntax"),
        (closed("020300"), "syntax"),
        (closed("0203027fff"), "gauge.no-signal"),
        (closed("0203020063"), "gauge.open"),
        (closed("0203020064"), "range"),
        (closed("0203020062"), "98"),
    ],
)
def test_the_tests_come_in_the_order_of_the_schema(frame: bytes, outcome: str) -> None:
    more = '[[sentinel]]\nvalue = "99"\nname = "open"\n[value]\nmax = "98"\n'
    assert judged(INT16 + SENTINEL, frame, more) == outcome


def test_a_sentinel_is_compared_after_the_words_are_in_order() -> None:
    keys = SWAPPED + 'sentinel_hex = "7fff0000"\nsentinel_name = "off"\n'
    assert judged(keys, closed("02030400007fff")) == "gauge.off"
    assert judged(keys, closed("0203047fff0000")) == "32767"


def test_a_sentinel_may_name_one_of_the_singles_that_are_no_number() -> None:
    keys = FLOAT32 + 'sentinel_hex = "7fc00000"\nsentinel_name = "off"\n'
    assert judged(keys, closed("0203047fc00000")) == "gauge.off"
    assert judged(keys, closed("0203047fc00001")) == "gauge.not-a-number"


@pytest.mark.parametrize(
    ("frame", "words"),
    [
        (closed("0903020001"), "position 1: expected unit 2, not 9"),
        (closed("0204020001"), "position 2: expected function 3, not 4"),
        (closed("02030400010002"), "position 3: expected 2 bytes of data, not 4"),
        (closed("028302"), "no such registers (modbus.address"),
        (b"\x02\x03\x02\x00\x01\x00\x00", "position 6 (CRC): expected"),
    ],
)
def test_a_reject_says_where_and_what_was_expected(frame: bytes, words: str) -> None:
    (only,) = closing(codec(), frame)
    assert isinstance(only, Reject)
    assert "profile t: " in only.detail
    assert words in only.detail
    assert frame.hex() in only.detail


def test_the_first_reply_after_opening_is_marked_when_it_fails_by_syntax() -> None:
    one = codec()
    wrong = closed("0204020001")
    first, second = closing(one, wrong) + closing(one, wrong, ms=100)
    assert isinstance(first, Reject)
    assert isinstance(second, Reject)
    assert (first.flags, second.flags) == (("first-after-open",), ())


# --- when a reply is complete ---

GOOD = closed("0203020001")
REQUEST = closed("020301020001")


def test_a_whole_reply_is_judged_after_a_short_silence() -> None:
    one = codec()
    for n, byte in enumerate(GOOD[:-1]):
        assert one.feed(bytes([byte]), at(n)) == []
        assert one.silence_s == IDLE_MS / 1000
    assert one.feed(GOOD[-1:], at(9)) == []
    assert one.silence_s == WHOLE_MS / 1000
    assert one.idle(at(9 + WHOLE_MS - 1)) == []
    (only,) = one.idle(at(9 + WHOLE_MS))
    assert (told([only]), only.at) == (["1"], at(9))  # stamped as it came, not as it was judged
    assert not waits(one)
    assert one.idle(at(1000)) == []


def test_a_profile_may_ask_for_a_shorter_silence() -> None:
    one = codec_for(
        parse_profile(
            'schema = 1\nid = "t"\nkind = "modbus-rtu"\n[frame]\nidle_ms = 5\n[modbus]\n'
            f"unit_id = 2\nfunction = 3\naddress = 258\n{INT16}",
            "t.toml",
        )
    )
    assert one.feed(GOOD, at(0)) == []
    assert told(one.idle(at(5))) == ["1"]


def test_a_gap_as_long_as_the_silence_ends_a_reply_without_being_told_of() -> None:
    one = codec()
    assert one.feed(GOOD[:3], at(0)) == []
    assert told(closing(one, GOOD, IDLE_MS)) == ["truncated", "1"]
    one = codec()
    assert one.feed(GOOD[:3], at(0)) == []
    assert one.idle(at(IDLE_MS - 1)) == []
    assert told(closing(one, GOOD[3:], IDLE_MS - 1)) == ["1"]


@pytest.mark.parametrize("size", [1, 2, 6, 7, 8, 20])
def test_bytes_behind_a_whole_reply_make_it_overlong_however_they_are_cut(size: int) -> None:
    for stream in (GOOD + b"\x00", GOOD + GOOD, GOOD[:-1] + b"?abc" + GOOD):
        one = codec()
        for n in range(0, len(stream), size):
            assert one.feed(stream[n : n + size], at(n)) == []
        (only,) = one.idle(at(1000))
        assert isinstance(only, Reject)
        assert (only.code, only.raw) == ("overlong", stream)


def test_a_broken_reply_does_not_spoil_the_one_behind_the_silence() -> None:
    one = codec()
    assert told(closing(one, GOOD[:-1] + b"?")) == ["checksum"]
    assert waits(one) is False
    assert told(closing(one, GOOD, WHOLE_MS)) == ["1"]


def test_a_request_makes_an_end_of_what_came_before_it() -> None:
    one = codec()
    assert one.feed(GOOD, at(0)) == []
    one.request()
    assert one.silence_s is not None
    assert told(one.feed(GOOD[:4], at(1))) == ["1"]
    one.request()
    assert one.silence_s is not None
    assert told(closing(one, GOOD, 3)) == ["truncated", "1"]
    one.request()
    assert one.feed(REQUEST[:6], at(100)) == []  # as long as it claims to be, yet no reply
    one.request()
    assert told(closing(one, GOOD, 101)) == ["checksum", "1"]


def test_a_stream_that_never_pauses_is_told_of_once_and_costs_nothing() -> None:
    one = codec()
    outcomes: list[Outcome] = []
    for ms in range(1000):
        outcomes += one.feed(b"\xff" * 100, at(ms))
    # 50 chunks of 100 bytes have come before 50 ms; 260 bytes are kept
    (only,) = outcomes
    assert isinstance(only, Reject)
    assert (only.code, len(only.raw), only.skipped) == ("overlong", 260, 50 * 100 - 260)
    assert one.silence_s is None
    assert told(closing(one, GOOD, 5000)) == ["1"]


def test_a_reject_keeps_no_more_than_the_longest_reply() -> None:
    (only,) = closing(codec(), b"\x02\x03\x02" + b"x" * 4093)
    assert isinstance(only, Reject)
    assert (only.code, len(only.raw), only.skipped) == ("overlong", 260, 4096 - 260)


# --- local echo ---


@pytest.mark.parametrize("size", [1, 2, 3, 7, 8, 15])
def test_an_adapters_echo_of_the_request_is_dropped(size: int) -> None:
    one = codec()
    assert one.request() == REQUEST
    stream = REQUEST + GOOD
    got = [
        outcome
        for n in range(0, len(stream), size)
        for outcome in one.feed(stream[n : n + size], at(n))
    ]
    assert got == []
    assert told(one.idle(at(100))) == ["1"]
    assert one.silence_s is None


def test_without_an_echo_the_reply_is_read_all_the_same() -> None:
    one = codec()
    one.request()
    assert told(closing(one, GOOD)) == ["1"]


def test_only_one_echo_and_only_right_after_a_request_is_dropped() -> None:
    # as a reply the copy claims 1 byte of data: 6 bytes and not 8
    one = codec()
    assert told(closing(one, REQUEST)) == ["overlong"]
    one.request()
    assert told(closing(one, REQUEST + REQUEST, 100)) == ["overlong"]
    one.request()
    assert told(closing(one, GOOD, 300) + closing(one, REQUEST, 400)) == ["1", "overlong"]
    one.request()
    assert one.feed(REQUEST + REQUEST[:1], at(500)) == []
    assert told(closing(one, REQUEST[1:], 501)) == ["overlong"]


def test_an_echo_alone_is_no_outcome_and_is_not_waited_for() -> None:
    one = codec()
    one.request()
    assert one.feed(REQUEST, at(0)) == []
    assert (one.silence_s, one.idle(at(1000))) == (None, [])


def test_a_reply_that_begins_like_the_request_is_told_after_silence() -> None:
    # 02 03 01 ..: one byte of data is never right, but 6 bytes could be such a reply
    one = codec()
    one.request()
    assert one.feed(REQUEST[:6], at(0)) == []
    assert told(one.idle(at(IDLE_MS))) == ["checksum"]
    assert told(closing(one, REQUEST, 200)) == ["overlong"]  # that was no echo any more


def test_the_same_reply_again_is_flagged_within_the_window() -> None:
    one = codec(INT16, "[repeat]\nwindow_ms = 130\n")
    flags = [
        o.flags for ms in (0, 130, 261) for o in closing(one, GOOD, ms) if isinstance(o, Reading)
    ]
    assert flags == [(), ("repeat",), ()]


def test_a_capture_leaves_repeats_unflagged() -> None:
    text = (
        'schema = 1\nid = "t"\nkind = "modbus-rtu"\n[modbus]\nunit_id = 2\nfunction = 3\n'
        f"address = 258\n{INT16}[repeat]\nwindow_ms = 100\n"
    )
    one = codec_for(parse_profile(text, "t"), with_repeats=False)
    got = closing(one, GOOD) + closing(one, GOOD, WHOLE_MS)
    assert [o.flags for o in got if isinstance(o, Reading)] == [(), ()]
