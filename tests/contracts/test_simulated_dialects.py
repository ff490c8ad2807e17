"""Simulator and reading side meet here only: bytes of the one, read by the shipped profile's codec.

They share no code, so that a wrong bit order on one side cannot be made good by the other.
"""

from decimal import Decimal
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest_mock import MockerFixture

from drivers.dialects.codec import codec_for
from drivers.errors import PortLost
from drivers.ports import open_port, usb_interface
from drivers.profile.file import read_profile
from drivers.profile.profile import SHIPPED, Link, Profile
from drivers.reading import Instant, Outcome, Reading, Reject
from simulator.answering import Manner, answerer_for
from simulator.faults import Fault, Piece, faulty
from simulator.formats import FORMATS
from simulator.gauge import Flags, Shown, Unit
from simulator.keystrokes import LEFT_CTRL, Hand, chord, typed_on_keypad
from simulator.usb_backend import SimulatedUsb
from simulator.usb_bus import UsbBus
from simulator.usb_device import SimulatedDevice

PROFILES = {file.stem: read_profile(file) for file in sorted(SHIPPED.glob("*.toml"))}
BOTH = sorted(PROFILES.keys() & FORMATS.keys())
MM_ONLY = {"number-crlf", "keyboard-number-enter", "modbus-int32"}
Layout = Literal["us", "de", "fr"]
LATER = Instant(10**12, 10**15)


def frame_of(name: str, shown: Shown, flags: Flags | None = None) -> bytes:
    return FORMATS[name].encode(shown, 1, flags or Flags())


def outcomes(profile: Profile, *pieces: Piece) -> list[Outcome]:
    codec = codec_for(profile)
    out: list[Outcome] = []
    for piece in pieces:
        at = Instant(round(piece.at_s * 1e6), round(piece.at_s * 1e9))
        out += [*codec.idle(at), *codec.feed(piece.data, at)]
    return out + codec.idle(LATER)


def test_every_shipped_profile_has_its_simulated_gauge() -> None:
    assert set(PROFILES) <= set(FORMATS)


@pytest.mark.parametrize("name", BOTH)
@given(thousandths=st.integers(-99999, 999999), unit=st.sampled_from(["mm", "in"]))
def test_what_the_gauge_shows_is_what_is_read(name: str, thousandths: int, unit: Unit) -> None:
    unit = "mm" if name in MM_ONLY else unit
    shown = Shown(Decimal(thousandths).scaleb(-3), unit)
    (only,) = outcomes(PROFILES[name], Piece(0.0, frame_of(name, shown)))
    assert isinstance(only, Reading), only
    assert (only.value, only.unit, only.resolution) == (shown.digits, unit, Decimal("0.001"))


def test_a_low_battery_in_half_bytes_is_a_flag() -> None:
    frame = frame_of("bcd-nibbles-xor", Shown(Decimal("1.5"), "mm"), Flags(low_battery=True))
    (only,) = outcomes(PROFILES["bcd-nibbles-xor"], Piece(0.0, frame))
    assert isinstance(only, Reading)
    assert only.flags == ("low-battery",)


@pytest.mark.parametrize("name", BOTH)
@given(seed=st.integers(0, 2**32), sizes=st.lists(st.integers(0, 99999), min_size=1, max_size=6))
def test_cut_split_and_packed_frames_are_the_same_readings(
    name: str, seed: int, sizes: list[int]
) -> None:
    values = [Decimal(size).scaleb(-3) for size in sizes]
    pieces = [
        Piece(float(place), frame_of(name, Shown(value, "mm")))
        for place, value in enumerate(values)
    ]
    faults = [Fault("cut", 0.5), Fault("split", 0.3), Fault("packets", 0.5)]
    got = outcomes(PROFILES[name], *_pieces(pieces, faults, seed))
    assert [one.value if isinstance(one, Reading) else one for one in got] == values


@pytest.mark.parametrize("name", BOTH)
@given(
    seed=st.integers(0, 2**32),
    faults=st.lists(
        st.sampled_from(["drop", "double", "flip", "nuls", "stall", "join", "cut"]), max_size=4
    ),
)
def test_no_stack_of_faults_breaks_the_reading_side(
    name: str, seed: int, faults: list[str]
) -> None:
    shown = Shown(Decimal("59.982"), "mm")
    pieces = [Piece(2.0 * n, frame_of(name, shown)) for n in range(6)]
    got = outcomes(PROFILES[name], *_pieces(pieces, [Fault(one, 0.5) for one in faults], seed))
    assert all(isinstance(one, Reading | Reject) for one in got)
    is_guarded = name in ("bcd-nibbles-xor", "modbus-int32") and len(faults) < 2
    if is_guarded and "flip" in faults:  # the check there finds every single bit
        assert {one.value for one in got if isinstance(one, Reading)} <= {shown.digits}


@pytest.mark.parametrize("name", [name for name in BOTH if PROFILES[name].is_asked])
def test_a_request_of_the_reading_side_is_answered_and_read(name: str) -> None:
    shown = Shown(Decimal("-0.004"), "mm")
    registers = FORMATS[name].registers

    def measure() -> tuple[bytes, str]:
        return (registers.written(shown) if registers else frame_of(name, shown)), "-0.004 mm"

    answerer = answerer_for(FORMATS[name], 1, measure)
    assert answerer is not None
    codec = codec_for(PROFILES[name])
    request = codec.request()
    assert request is not None
    for byte in range(len(request)):
        replies = answerer.hear(request[byte : byte + 1], 0.0, Manner())
        assert (replies == []) == (byte + 1 < len(request))
    (only,) = [one for reply in replies for one in codec.feed(reply.data, Instant(0, 0))] + (
        codec.idle(LATER)
    )
    assert isinstance(only, Reading)
    assert only.value == Decimal("-0.004")


@pytest.mark.parametrize(
    ("manner", "code"),
    [
        (Manner("wrong-crc"), "checksum"),
        (Manner("wrong-unit"), "address"),
        (Manner(exception=6), "modbus.exception-06"),
    ],
)
def test_a_wrong_answer_has_its_code(manner: Manner, code: str) -> None:
    answerer = answerer_for(FORMATS["modbus-int32"], 1, lambda: (bytes(4), "0 mm"))
    assert answerer is not None
    codec = codec_for(PROFILES["modbus-int32"])
    replies = answerer.hear(codec.request() or b"", 0.0, manner)
    got = [one for reply in replies for one in codec.feed(reply.data, Instant(0, 0))]
    (only,) = got + codec.idle(LATER)
    assert isinstance(only, Reject)
    assert only.code == code


# --- by keys ---


class Typed:
    """A simulated keyboard-type gauge and the port that has taken it."""

    def __init__(self, mocker: MockerFixture, layout: Layout = "us") -> None:
        self.bus = UsbBus()
        self.gauge = self.bus.plug(SimulatedDevice())
        mocker.patch.object(usb_interface, "BACKEND", SimulatedUsb(self.bus))
        self.port = open_port("usb:1209:0001:SIM0001", Link(keyboard=layout))

    def text(self) -> bytes:
        got = b""
        while data := self.port.read(0.05) or (b"\0" if self.port.notices() else b""):
            got += data.replace(b"\0", b"")
        return got


@pytest.mark.parametrize("layout", ["us", "de", "fr"])
@pytest.mark.parametrize("hand", ["released", "rolling", "unreleased"])
def test_a_typed_reading_is_read_and_types_nowhere_else(
    mocker: MockerFixture, layout: Layout, hand: Hand
) -> None:
    desk = Typed(mocker, layout)
    sizes = [Decimal("59.982"), Decimal("-0.004"), Decimal("11.100")]
    for size in sizes:
        frame = frame_of("keyboard-number-enter", Shown(size, "mm"))
        desk.bus.type(desk.gauge, frame.decode("ascii"), layout, hand=hand)
    got = outcomes(PROFILES["keyboard-number-enter"], Piece(0.0, desk.text()))
    assert [one.value for one in got if isinstance(one, Reading)] == sizes
    assert desk.bus.desktop == []
    desk.port.close()
    assert desk.gauge.interfaces[0].is_bound
    desk.bus.type(desk.gauge, "7")
    assert desk.bus.desktop != []


def test_chords_roll_overs_and_stuck_keys_type_nothing(mocker: MockerFixture) -> None:
    desk = Typed(mocker)
    desk.bus.send(desk.gauge, *chord(0x15, LEFT_CTRL), bytes([0, 0, *[1] * 6]), b"", b"\x01")
    desk.bus.send(desk.gauge, *typed_on_keypad("5\n"))
    assert desk.text() == b"5\n"
    desk.port.close()


def test_unplugged_the_port_is_lost_and_the_gauge_found_again(mocker: MockerFixture) -> None:
    desk = Typed(mocker)
    desk.bus.replug(desk.gauge, ports=(7,))
    with pytest.raises(PortLost):
        desk.port.read(5.0)
    desk.port.close()
    again = open_port("usb:1209:0001:SIM0001", Link())
    assert again.identity.text == desk.port.identity.text
    desk.bus.type(desk.gauge, "1\n")
    got = b""
    while not got.endswith(b"\n"):
        got += again.read(0.05)
    assert got == b"1\n"
    again.close()


def _pieces(pieces: list[Piece], faults: list[Fault], seed: int) -> list[Piece]:
    return [one for one in faulty(pieces, faults, seed) if isinstance(one, Piece)]
