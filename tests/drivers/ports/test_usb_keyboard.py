"""A keyboard-type gauge as a port: text as bytes, notices, and nothing to write to."""

import sys
from collections.abc import Callable, Iterator
from decimal import Decimal

import pytest
from pytest_mock import MockerFixture

from drivers.dialects.codec import codec_for
from drivers.errors import PortLost, PortUnavailable
from drivers.ports import open_port, usb_interface
from drivers.ports.base import Port
from drivers.ports.usb_keyboard import MOST_NOTICES
from drivers.profile.file import parse_profile
from drivers.profile.profile import Link
from drivers.reading import Instant, Reading, Reject
from tests.drivers.fake_usb import NO_KEY, FakeDevice, FakeUsb, typed

NAME = "usb:1209:0002:KB1"
PROFILE = """
schema = 1
id = "keys"
title = "keys"
kind = "text"
[link]
transport = "usb-hid-keyboard"
[frame]
end = "\\n"
[[layout]]
name = "number"
form = "fixed"
sign = "optional"
[value]
unit = "mm"
"""

Opened = tuple[Port, FakeUsb, FakeDevice]
Open = Callable[..., Opened]


@pytest.fixture
def opened(mocker: MockerFixture) -> Iterator[Open]:
    """A port opened by its public way, on a device that sends these reports."""
    ports: list[Port] = []

    def run(*reports: bytes, link: Link | None = None) -> Opened:
        device = FakeDevice(sends=list(reports))
        bus = FakeUsb(device)
        mocker.patch.object(usb_interface, "BACKEND", bus)
        ports.append(open_port(NAME, link or Link()))
        return ports[-1], bus, device

    yield run
    for port in ports:
        port.close()


def read_all(port: Port) -> bytes:
    """Everything until silence."""
    got = b""
    while True:
        data = port.read(0.05)
        got += data
        if not data and not port.notices():
            return got


def test_what_the_gauge_types_comes_as_bytes(opened: Open) -> None:
    port, _, _ = opened(*typed("+59.982 mm\n-0.5\n"))
    assert read_all(port) == b"+59.982 mm\n-0.5\n"


def test_a_release_alone_is_silence(opened: Open) -> None:
    port, _, _ = opened(NO_KEY, NO_KEY)
    assert port.read(0.05) == b""


def test_the_layout_of_the_link_counts_and_other_characters_are_utf8(opened: Open) -> None:
    port, _, _ = opened(b"\0\0\x2d\0\0\0\0\0", NO_KEY, link=Link(keyboard="de"))
    assert read_all(port) == "ß".encode()


def test_alt_and_keypad_digits_count_if_the_link_says_so(opened: Open) -> None:
    alt_4_9 = [b"\4\0\x5c\0\0\0\0\0", b"\4\0\0\0\0\0\0\0", b"\4\0\x61\0\0\0\0\0", NO_KEY]
    port, _, _ = opened(*alt_4_9, link=Link(alt_numpad=True))
    assert read_all(port) == b"1"


def test_a_chord_is_a_notice_told_at_once_and_once(opened: Open) -> None:
    port, _, _ = opened(b"\1\0\x19\0\0\0\0\0", NO_KEY, b"\0\0\1\1\1\1\1\1")
    assert port.read(None) == b""
    assert port.notices() == ("modifier-01+19",)
    assert port.notices() == ()
    assert port.read(None) == b""
    assert port.notices() == ("rollover",)


def test_a_flood_of_notices_is_counted_not_kept(opened: Open) -> None:
    port, _, _ = opened(*[b"\1\0\x19\0\0\0\0\0", NO_KEY] * 5000)
    for _ in range(5000):
        assert port.read(None) == b""
    told = port.notices()
    assert told == ("modifier-01+19",) * MOST_NOTICES + (f"and-{5000 - MOST_NOTICES}-more",)
    assert port.notices() == ()


def test_a_keyboard_cannot_be_asked(opened: Open) -> None:
    port, _, device = opened()
    with pytest.raises(PortUnavailable, match="cannot be asked"):
        port.write(b"READ?\n")
    port.close()
    with pytest.raises(PortLost, match="closed"):
        port.write(b"READ?\n")
    assert device.interfaces[0].is_bound


def test_keys_become_readings_and_half_a_line_is_told_of_after_a_loss(opened: Open) -> None:
    codec = codec_for(parse_profile(PROFILE, "keys.toml"))
    port, bus, device = opened(*typed("12.5\n12."))
    outcomes = codec.feed(read_all(port), Instant(0, 0))
    bus.unplug(device)
    with pytest.raises(PortLost):
        port.read(1.0)
    outcomes += codec.idle(Instant(2_000_000, 2_000_000_000))
    assert [one.value for one in outcomes if isinstance(one, Reading)] == [Decimal("12.5")]
    assert [(one.code, one.raw) for one in outcomes if isinstance(one, Reject)] == [
        ("truncated", b"12.")
    ]


def test_a_character_outside_ascii_makes_its_frame_a_bad_one(opened: Open) -> None:
    codec = codec_for(parse_profile(PROFILE, "keys.toml"))
    port, _, _ = opened(b"\0\0\x2d\0\0\0\0\0", NO_KEY, *typed("1\n"), link=Link(keyboard="de"))
    (outcome,) = codec.feed(read_all(port), Instant(0, 0))
    assert isinstance(outcome, Reject)
    assert (outcome.code, outcome.raw) == ("encoding", "ß1".encode())


def test_pyusb_is_loaded_by_an_open_only() -> None:
    import subprocess

    program = (
        "import sys, drivers.ports as p; p.check_port_name('usb:1209:0002');"
        "import drivers.hid.decoder; print('usb' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, check=True)
    assert done.stdout == b"False\n"
