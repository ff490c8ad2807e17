"""Frames of nibbles: which nibble is which, the order of the tests, what a reading carries.

All frames are worked by hand: nibbles in the order of the layout, two a byte.
"""

from collections.abc import Callable

import pytest

from drivers.dialects.codec import codec_for
from drivers.profile.file import parse_profile
from drivers.reading import Instant, Outcome, Reading, Reject, plain

Decode = Callable[..., list[Outcome]]

STATUS = '[[layout]]\nname = "status"\nbits = { "0" = "hold", "1" = "!fault", "2" = "!empty" }\n'
CHANNEL = '[[layout]]\nname = "channel"\n'
DECIMALS = '[[layout]]\nname = "decimals"\n'
SIGN = '[[layout]]\nname = "sign"\nmap = { "0" = "+", "C" = "-" }\n'
UNIT = '[[layout]]\nname = "unit"\nmap = { "0" = "mm", "f" = "in" }\n'
CHECK = '[[layout]]\nname = "check"\nkind = "xor"\n'


def digits(count: int, more: str = "") -> str:
    return f'[[layout]]\nname = "digits"\nnibbles = {count}\n{more}'


def profile(layout: str, length: int, order: str = "high-first", more: str = "") -> str:
    return (
        f'schema = 1\nid = "t"\nkind = "bcd"\n[frame]\nlength = {length}\nidle_ms = 100\n'
        f'[bcd]\norder = "{order}"\n{layout}{more}'
    )


def told(outcomes: list[Outcome]) -> str:
    """The one outcome: its code, or value, unit, channel and flags."""
    (only,) = outcomes
    if isinstance(only, Reject):
        return only.code
    return " ".join(filter(None, (plain(only.value), only.unit, only.channel, *only.flags)))


@pytest.mark.parametrize(
    ("order", "first", "frame"),
    [
        ("high-first", "msd", "1234"),
        ("low-first", "msd", "2143"),
        ("high-first", "lsd", "4321"),
        ("low-first", "lsd", "3412"),
    ],
)
def test_nibbles_and_digits_come_in_the_declared_order(
    decode: Decode, order: str, first: str, frame: str
) -> None:
    text = profile(digits(4, f'first = "{first}"\n'), 2, order)
    assert told(decode(text, bytes.fromhex(frame))) == "1234"


def test_every_token_lands_in_the_reading(decode: Decode) -> None:
    layout = STATUS + CHANNEL + DECIMALS + digits(7) + SIGN + UNIT
    got = decode(profile(layout, 6), bytes.fromhex("1b30012345cf"))
    assert told(got) == "-12.345 in 11 hold"
    assert isinstance(got[0], Reading)
    assert plain(got[0].resolution) == "0.001"
    assert got[0].raw.hex() == "1b30012345cf"


@pytest.mark.parametrize(
    ("more", "frame", "value", "resolution"),
    [
        ("", "0420", "420", "1"),
        ("decimals = 3\n", "0420", "0.420", "0.001"),
        ("decimals = 4\n", "0420", "0.0420", "0.0001"),
    ],
)
def test_decimals_are_the_digits_own_where_none_are_sent(
    decode: Decode, more: str, frame: str, value: str, resolution: str
) -> None:
    (only,) = decode(profile(digits(4, more), 2), bytes.fromhex(frame))
    assert isinstance(only, Reading)
    assert (plain(only.value), plain(only.resolution)) == (value, resolution)


def test_a_declared_resolution_goes_before_that_of_the_digits(decode: Decode) -> None:
    more = '[value]\nresolution = { mm = "0.001", in = "0.00005" }\n'
    text = profile(digits(7, "decimals = 5\n") + UNIT, 4, more=more)
    (only,) = decode(text, bytes.fromhex("0050005f"))
    assert isinstance(only, Reading)
    assert (plain(only.value), only.unit, plain(only.resolution)) == ("0.50005", "in", "0.00005")


def test_as_many_decimals_as_digits_are_the_most(decode: Decode) -> None:
    text = profile(DECIMALS + digits(3), 2)
    assert told(decode(text, bytes.fromhex("3420"))) == "0.420"
    assert told(decode(text, bytes.fromhex("4420"))) == "syntax"


def test_minus_zero_is_zero(decode: Decode) -> None:
    assert told(decode(profile(digits(3) + SIGN, 2), bytes.fromhex("000c"))) == "0"


# --- the order of the tests ---

ALL = DECIMALS + STATUS + digits(3) + SIGN + UNIT + CHECK


@pytest.mark.parametrize(
    ("frame", "code"),
    [
        ("0012a0f0", "checksum"),  # the check would be 0^0^1^2^a^0^f = 6
        ("0212a0f4", "gauge.fault"),  # 2^1^2^a^f = 4; status 2 goes before the digit a
        ("0612a0f0", "gauge.fault"),  # 6^1^2^a^f = 0; bits 1 and 2: the lowest counts
        ("9412a111", "checksum"),  # and any check before a status
        ("9012a0ff", "bcd"),  # 9^1^2^a^f = f; a digit goes before the decimals
        ("901230f6", "syntax"),  # 9^1^2^3^f = 6; nine decimals of three digits
    ],
)
def test_the_tests_come_in_the_order_of_the_schema(decode: Decode, frame: str, code: str) -> None:
    assert told(decode(profile(ALL, 4), bytes.fromhex(frame))) == code


def test_sign_and_unit_are_told_apart(decode: Decode) -> None:
    # 0^0^1^2^3 = 0, so the check is sign ^ unit
    assert told(decode(profile(ALL, 4), bytes.fromhex("00123C0C"))) == "-123 mm"
    assert told(decode(profile(ALL, 4), bytes.fromhex("00123707"))) == "syntax"
    assert told(decode(profile(ALL, 4), bytes.fromhex("00123077"))) == "unit"


def test_sentinel_and_range_come_last(decode: Decode) -> None:
    more = '[[sentinel]]\nvalue = "999"\nname = "open"\n[value]\nmin = "1"\nmax = "500"\n'
    text = profile(DECIMALS + digits(3), 2, more=more)
    assert told(decode(text, bytes.fromhex("0999"))) == "gauge.open"
    assert told(decode(text, bytes.fromhex("0500"))) == "500"
    assert told(decode(text, bytes.fromhex("0501"))) == "range"
    assert told(decode(text, bytes.fromhex("3999"))) == "range"  # 0.999
    assert told(decode(text, bytes.fromhex("4999"))) == "syntax"


def test_a_status_of_several_nibbles_has_its_highest_first(decode: Decode) -> None:
    status = '[[layout]]\nname = "status"\nnibbles = 2\nbits = { "0" = "low", "7" = "high" }\n'
    assert told(decode(profile(status + digits(2), 2), bytes.fromhex("8042"))) == "42 high"
    assert told(decode(profile(status + digits(2), 2), bytes.fromhex("0142"))) == "42 low"
    assert told(decode(profile(status + digits(2), 2), bytes.fromhex("1042"))) == "42 bit-4"


def test_the_first_status_that_means_no_reading_counts(decode: Decode) -> None:
    second = '[[layout]]\nname = "status"\nbits = { "0" = "!late", "1" = "" }\n'
    text = profile(STATUS + second + digits(2), 2)
    assert told(decode(text, bytes.fromhex("4142"))) == "gauge.empty"
    assert told(decode(text, bytes.fromhex("0142"))) == "gauge.late"
    assert told(decode(text, bytes.fromhex("0242"))) == "42"


def test_a_reject_names_the_nibble_and_what_was_expected(decode: Decode) -> None:
    (only,) = decode(profile(digits(3) + UNIT, 2), bytes.fromhex("12a0"))
    assert isinstance(only, Reject)
    assert "nibble 3 (digits): expected 0 to 9, not a" in only.detail
    (only,) = decode(profile(digits(3) + UNIT, 2), bytes.fromhex("1234"))
    assert isinstance(only, Reject)
    assert "nibble 4 (unit): expected 0, f, not 4" in only.detail
    assert "hex 1234" in only.detail


# --- several frames ---


def test_frames_follow_each_other_by_their_length(decode: Decode) -> None:
    got = decode(profile(digits(2), 1), bytes.fromhex("12345a"))
    assert [told([outcome]) for outcome in got] == ["12", "34", "bcd"]


def test_the_first_frame_after_opening_is_marked_when_it_fails_by_syntax(decode: Decode) -> None:
    first, second = decode(profile(digits(3) + SIGN, 2), bytes.fromhex("12311231"))
    assert isinstance(first, Reject)
    assert isinstance(second, Reject)
    assert (first.flags, second.flags) == (("first-after-open",), ())


def test_the_same_frame_again_is_flagged_within_the_window(decode: Decode) -> None:
    text = profile(digits(2), 1, more="[repeat]\nwindow_ms = 300\n")
    got = decode(text, (0, b"\x12"), (300, b"\x12"), (601, b"\x12"), (602, b"\x13"))
    assert [told([outcome]) for outcome in got] == ["12", "12 repeat", "12", "13"]


def test_a_gauge_that_is_asked_has_its_text() -> None:
    text = profile(digits(2), 1, more='[trigger]\nsend = "\\u0005"\n')
    codec = codec_for(parse_profile(text, "t"))
    assert codec.request() == b"\x05"
    (only,) = codec.feed(b"\x12", Instant(0, 0))
    assert isinstance(only, Reading)
    assert codec.silence_s is None
    assert codec.feed(b"", Instant(1, 1)) == []
