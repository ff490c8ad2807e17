"""Profiles of the kinds bcd and modbus-rtu: what they say."""

import pytest

from drivers.profile.bcd_spec import (
    Bcd,
    BcdChannel,
    BcdSign,
    BcdStatus,
    BcdUnit,
    Decimals,
    Digits,
    XorCheck,
)
from drivers.profile.file import parse_profile
from drivers.profile.modbus_spec import Modbus
from drivers.profile.profile import Link, Trigger
from tests.drivers.profile.texts import BCD, MODBUS, TEXT, bcd, modbus


def test_a_bcd_profile_is_as_written() -> None:
    profile = parse_profile(BCD, "t")
    assert profile.kind == "bcd"
    assert profile.bcd == Bcd(
        "low-first",
        (
            BcdStatus(name="status", bits={"0": "hold", "3": "!sensor"}),
            BcdChannel(name="channel"),
            Decimals(name="decimals"),
            Digits(name="digits", nibbles=6, first="msd"),
            BcdSign(name="sign", map={"0": "+", "b": "-"}),
            BcdUnit(name="unit", map={"0": "mm", "A": "in"}),
            XorCheck(name="check", kind="xor"),
        ),
    )
    assert (profile.frame.start, profile.frame.length) == (b"\xaa\x55", 8)
    assert (profile.layout, profile.modbus, profile.check) == ((), None, None)


def test_a_modbus_profile_is_as_written() -> None:
    profile = parse_profile(MODBUS, "t")
    assert profile.kind == "modbus-rtu"
    assert profile.modbus == Modbus(
        unit_id=247,
        function=4,
        address=65534,
        count=2,
        type="int32",
        little=True,
        decimals=4,
        sentinel=(b"\x80\x00\x00\x0a", "no-signal"),
    )
    assert (profile.layout, profile.bcd, profile.frame.idle_ms) == ((), None, 500)


def test_they_know_what_their_readings_can_carry() -> None:
    nibbles, registers = parse_profile(BCD, "t"), parse_profile(MODBUS, "t")
    assert nibbles.units() == ("in", "mm")
    assert nibbles.statuses() == {"hold"}
    assert nibbles.has_channel()
    assert registers.units() == ("mm",)
    assert (registers.statuses(), registers.has_channel()) == (frozenset(), False)
    no_unit = bcd('[[layout]]\nname = "unit"\nmap = { "0" = "mm", "A" = "in" }\n', "")
    no_unit = no_unit.replace("nibbles = 6", "nibbles = 7") + '[value]\nunit = "um"\n'
    assert parse_profile(no_unit, "t").units() == ("um",)


def test_who_is_asked() -> None:
    asked = '[trigger]\nsend = "Q"\n'
    assert [
        parse_profile(text, "t").is_asked for text in (TEXT, TEXT + asked, BCD, BCD + asked, MODBUS)
    ] == [False, True, False, True, True]


def test_modbus_has_a_reply_time_and_no_text_to_send() -> None:
    assert parse_profile(MODBUS, "t").trigger == Trigger(b"", 1000, False)
    text = MODBUS + "[trigger]\nreply_ms = 300\n"
    assert parse_profile(text, "t").trigger == Trigger(b"", 300, False)


def test_a_modbus_link_is_the_standards_where_the_profile_is_silent() -> None:
    assert parse_profile(MODBUS, "t").link == Link(baud=19200, parity="E")
    own = MODBUS + "[link]\nbaud = 9600\n"
    assert parse_profile(own, "t").link == Link(baud=9600, parity="E")
    assert parse_profile(BCD, "t").link == Link()


@pytest.mark.parametrize("kind", ["int16", "uint16"])
@pytest.mark.parametrize("words", ["", 'words = "big"\n'])
def test_one_register_needs_no_word_order(kind: str, words: str) -> None:
    text = modbus("count = 2", "count = 1").replace('words = "little"\n', words)
    text = text.replace("int32", kind).replace("8000000A", "8000")
    assert parse_profile(text, "t").modbus is not None
