"""Gauges that are asked: requests typed by hand, replies with the vectors' own bytes."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulator.answering import (
    Answerer,
    Manner,
    ModbusAnswerer,
    Reply,
    TextAnswerer,
    answerer_for,
)
from simulator.formats import FORMATS
from simulator.registers import Registers

AT_ONCE = Manner(delay_s=0.0)
SIZE = bytes.fromhex("E2400001")
"""123456 with its low word first: the registers of the vector mb-01."""

# Unit 17, function 3, register 256, two of them. The check bytes are pymodbus 3.16.1's.
ASK = bytes.fromhex("11 03 01 00 00 02 C7 67")
REPLY = bytes.fromhex("11 03 04 E2 40 00 01 1D 9E")
"""The vector mb-01: 12.3456 mm."""


def text(trigger: bytes = b"?\r", reading: bytes | None = b"59.982 mm\r") -> TextAnswerer:
    return TextAnswerer(trigger, lambda: None if reading is None else (reading, "59.982 mm"))


def modbus(data: bytes | None = SIZE) -> ModbusAnswerer:
    registers = Registers("int32", "little", 4, 256)
    return ModbusAnswerer(17, registers, lambda: None if data is None else (data, "12.3456 mm"))


def said(answerer: Answerer, *chunks: bytes, manner: Manner = AT_ONCE) -> list[bytes]:
    return [reply.data for chunk in chunks for reply in answerer.hear(chunk, 0.0, manner)]


# --- by text ---


def test_a_trigger_is_answered_after_the_time_it_takes() -> None:
    replies = text().hear(b"?\r", 5.0, Manner(delay_s=0.3))
    assert replies == [Reply(0.3, b"59.982 mm\r", "59.982 mm")]


def test_a_trigger_in_pieces_and_two_at_once() -> None:
    one = text()
    assert said(one, b"?", b"\r") == [b"59.982 mm\r"]
    assert said(one, b"?\r?\r") == [b"59.982 mm\r"] * 2
    assert said(one, b"??\r") == [b"59.982 mm\r"]


def test_other_text_is_heard_in_silence_and_not_kept() -> None:
    one = text()
    assert said(one, b"x" * 100_000, b"\r", b"AT\r") == []
    assert said(one, b"?\r") == [b"59.982 mm\r"]
    assert len(one._held) < 2


def test_an_echo_comes_first_and_at_once() -> None:
    replies = text().hear(b"?\r", 0.0, Manner(delay_s=0.3, has_echo=True))
    assert [(reply.delay_s, reply.data) for reply in replies] == [
        (0.0, b"?\r"),
        (0.3, b"59.982 mm\r"),
    ]


def test_an_answer_that_does_not_come() -> None:
    assert said(text(), b"?\r", manner=Manner("off")) == []
    assert said(text(), b"?\r", manner=Manner("off", has_echo=True)) == [b"?\r"]
    assert said(text(reading=None), b"?\r") == []


@given(
    noise=st.lists(st.binary(max_size=10).filter(lambda one: b"?" not in one), max_size=8),
    cuts=st.integers(1, 5),
)
def test_every_whole_trigger_is_answered_however_it_is_cut(noise: list[bytes], cuts: int) -> None:
    stream = b"?\r".join([*noise, b""])
    chunks = [stream[at : at + cuts] for at in range(0, len(stream), cuts)]
    assert len(said(text(), *chunks)) == len(noise)


# --- by Modbus ---


def test_a_request_gets_the_registers() -> None:
    assert said(modbus(), ASK) == [REPLY]
    assert said(modbus(), *[ASK[n : n + 1] for n in range(8)]) == [REPLY]
    assert said(modbus(), ASK + ASK) == [REPLY, REPLY]


def test_input_registers_are_the_same() -> None:
    request = bytes.fromhex("11 04 01 00 00 02 72 A7")
    (reply,) = said(modbus(), request)
    assert reply[:7] == bytes.fromhex("11 04 04 E2 40 00 01")


def test_one_register_of_two() -> None:
    # register 257 alone: the second word
    request = with_check("11 03 01 01 00 01")
    (reply,) = said(modbus(), request)
    assert reply[:5] == bytes.fromhex("11 03 02 00 01")


@pytest.mark.parametrize(
    ("request_hex", "code"),
    [
        ("11 06 01 00 00 01", 1),  # writing
        ("11 01 01 00 00 01", 1),  # coils
        ("11 10 01 00 00 01 02 00 01", 1),  # writing many
        ("11 11", 1),  # report id
        ("11 03 00 FF 00 01", 2),
        ("11 03 01 01 00 02", 2),
        ("11 03 01 00 00 00", 3),
        ("11 03 01 00 00 7E", 3),  # 126 registers
    ],
)
def test_requests_that_get_an_exception(request_hex: str, code: int) -> None:
    request = with_check(request_hex)
    function = request[1] | 0x80
    assert said(modbus(), request) == [with_check(bytes([0x11, function, code]).hex())]


def test_the_exception_of_the_vector() -> None:
    # mb-11: 11 83 02 C1 34
    assert said(modbus(), ASK, manner=Manner(exception=2)) == [bytes.fromhex("118302C134")]


def test_with_nothing_in_the_gauge_it_says_that_it_failed() -> None:
    assert said(modbus(None), ASK) == [with_check("11 83 04")]


def test_others_requests_broadcasts_and_damage_get_no_answer() -> None:
    for request in (with_check("12 03 01 00 00 02"), with_check("00 03 01 00 00 02")):
        assert said(modbus(), request) == []
    assert said(modbus(), ASK[:-1] + b"\0") == []
    assert said(modbus(), ASK, manner=Manner("off")) == []


def test_after_damage_and_silence_it_answers_again() -> None:
    one = modbus()
    for damage in (ASK[:5], b"\xff" + ASK, ASK[:-1] + b"\0", b"\x11\x7f" + bytes(5000)):
        one.hear(damage, 10.0, AT_ONCE)
        assert [reply.data for reply in one.hear(ASK, 10.2, AT_ONCE)] == [REPLY]
        one.hear(b"", 20.0, AT_ONCE)


def test_wrong_on_purpose() -> None:
    (wrong_crc,) = said(modbus(), ASK, manner=Manner("wrong-crc"))
    assert (wrong_crc[:-1], wrong_crc[-1]) == (REPLY[:-1], REPLY[-1] ^ 0xFF)
    (other_unit,) = said(modbus(), ASK, manner=Manner("wrong-unit"))
    assert other_unit == with_check("12 03 04 E2 40 00 01")


def test_the_line_may_send_the_request_back() -> None:
    assert said(modbus(), ASK, manner=Manner(has_echo=True)) == [ASK, REPLY]


@given(chunks=st.lists(st.binary(max_size=300), max_size=10))
def test_any_bytes_are_taken_and_little_is_kept(chunks: list[bytes]) -> None:
    one = modbus()
    said(one, *chunks)
    assert len(one._taker._held) <= 256


# --- which one ---


def test_only_gauges_that_can_be_asked_listen() -> None:
    def measure() -> tuple[bytes, str] | None:
        return b"x", "x"

    assert answerer_for(FORMATS["number-crlf"], 1, measure) is None
    for name in ("ask-number-unit-cr", "modbus-int32"):
        assert FORMATS[name].is_asked
        assert answerer_for(FORMATS[name], 1, measure) is not None
    asked = answerer_for(FORMATS["number-crlf"], 1, measure, b"READ?\n")
    assert asked is not None
    assert said(asked, b"READ?\n") == [b"x"]
    with pytest.raises(ValueError, match="not by a text"):
        answerer_for(FORMATS["modbus-int32"], 1, measure, b"?")
    with pytest.raises(ValueError, match="from 1 to 247, not 248"):
        answerer_for(FORMATS["modbus-int32"], 248, measure)
    with pytest.raises(ValueError, match="empty text"):
        answerer_for(FORMATS["number-crlf"], 1, measure, b"")


def with_check(frame_hex: str) -> bytes:
    """A frame with its check bytes by another implementation."""
    from pymodbus.framer import FramerRTU

    frame = bytes.fromhex(frame_hex)
    return frame + FramerRTU.compute_CRC(frame).to_bytes(2, "big")
