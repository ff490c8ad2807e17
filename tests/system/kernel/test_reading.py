"""Readings through the project's own ports from real devices, ours and the emulator's."""

import os
import threading
import time
from collections.abc import Callable
from contextlib import closing

import pytest

from drivers.errors import PortLost, PortUnavailable
from drivers.ports import open_port
from drivers.ports.base import Port
from drivers.profile.profile import Link
from simulator import keystrokes
from simulator.gadgets import SOCKETS, Descriptor
from tests.system.kernel.conftest import (
    KEYBOARD,
    KEYBOARD_PORT,
    WAIT_S,
    Emulator,
    Plugging,
    has_driver,
    nodes,
    wait_until,
    went,
)


def gathered(port: Port, count: int) -> bytes:
    """So many bytes, or what came within WAIT_S."""
    got = b""
    deadline = time.monotonic() + WAIT_S
    while len(got) < count and time.monotonic() < deadline:
        got += port.read(1.0)
    return got


def typed(port: Port, count: int, act: Callable[..., None], *words: object) -> bytes:
    """What the port reads while a thread types, until all is typed: each report waits its turn."""
    thread = threading.Thread(target=act, args=words)
    thread.start()
    got = b""
    deadline = time.monotonic() + WAIT_S
    while (len(got) < count or thread.is_alive()) and time.monotonic() < deadline:
        got += port.read(0.2)
    thread.join()
    return got


def test_a_serial_gauge_is_read_and_asked(plugging: Plugging) -> None:
    gauge = plugging.serial()
    with closing(open_port("/dev/ttyACM0", Link())) as port:
        assert port.identity.text == "usb:1209:0001:ACM123"
        gauge.send("+59.982 mm\r\n-0.00005 in\r\n")
        assert gathered(port, 25) == b"+59.982 mm\r\n-0.00005 in\r\n"
        port.write(b"?\r")
        assert gauge.received() == b"?\r"
        gauge.unplug()
        with pytest.raises(PortLost, match="unplugged"):
            gathered(port, 1)


def test_every_byte_passes_a_serial_gauge(plugging: Plugging) -> None:
    gauge = plugging.serial()
    every = bytes(range(256))
    with closing(open_port("/dev/ttyACM0", Link())) as port:
        gauge.send(every.decode("latin-1"))
        assert gathered(port, 256) == every


def test_the_emulators_serial_adapter_is_read_and_asked(adapter: int) -> None:
    with closing(open_port("/dev/ttyUSB0", Link())) as port:
        assert port.identity.text == "usb:0403:6001:FT0001"
        os.write(adapter, b"+2.16390 in\r\n")
        assert gathered(port, 13) == b"+2.16390 in\r\n"
        port.write(b"?\r")
        assert os.read(adapter, 64) == b"?\r"


def test_a_keyboard_gauge_is_read_and_its_driver_comes_back(plugging: Plugging) -> None:
    gauge = plugging.keyboard()
    assert has_driver("HID456")
    with closing(open_port(KEYBOARD_PORT, Link())) as port:
        assert not has_driver("HID456")
        assert port.identity.text == KEYBOARD_PORT
        text = "+59.982 mm\n-0.00005 in\n"
        assert typed(port, 23, gauge.send, text) == text.encode()
    assert has_driver("HID456")


def test_an_unplugged_keyboard_gauge_is_lost(plugging: Plugging) -> None:
    gauge = plugging.keyboard()
    with closing(open_port(KEYBOARD_PORT, Link())) as port:
        gauge.unplug()
        with pytest.raises(PortLost):
            gathered(port, 1)
    went("HID456")
    gauge.plug(SOCKETS[3])
    wait_until(lambda: has_driver("HID456"), "back with its driver")
    with closing(open_port(KEYBOARD_PORT, Link())) as port:
        assert typed(port, 4, gauge.send, "1.5\n") == b"1.5\n"


def test_chords_and_roll_over_type_nothing(plugging: Plugging) -> None:
    """Ctrl, GUI and the phantom state. Source: USB HID 1.11, appendix C (from memory)."""
    gauge = plugging.keyboard()
    held = (keystrokes.LEFT_CTRL, keystrokes.LEFT_GUI, keystrokes.RIGHT_CTRL, keystrokes.RIGHT_GUI)
    chords = [keystrokes.report([0x06], modifier) for modifier in held]
    sent = [
        one for chord in (*chords, keystrokes.ROLL_OVER) for one in (chord, keystrokes.RELEASED)
    ]
    sent += keystrokes.typed("7\n")
    with closing(open_port(KEYBOARD_PORT, Link())) as port:
        assert typed(port, 2, gauge.report, *sent) == b"7\n"
        assert port.notices()


def test_the_emulators_keyboard_is_read(emulator: Emulator, users_keyboard: str) -> None:
    with closing(open_port(users_keyboard, Link())) as port:
        assert typed(port, 9, emulator.type, "+2.16390\n") == b"+2.16390\n"
    assert has_driver("KB77")


def test_the_only_keyboard_is_taken_by_its_own_name_alone(
    plugging: Plugging, emulator: Emulator
) -> None:
    plugging.keyboard()
    with pytest.raises(PortUnavailable, match="only USB keyboard"):
        open_port("usb:1209:0002", Link())
    assert has_driver("HID456")


def test_beside_the_users_keyboard_the_kind_is_name_enough(
    plugging: Plugging, users_keyboard: str
) -> None:
    plugging.keyboard()
    with closing(open_port("usb:1209:0002", Link())):
        assert not has_driver("HID456")
        assert has_driver("KB77")


def test_two_gauges_of_one_kind_are_told_apart_by_number(plugging: Plugging) -> None:
    plugging.keyboard()
    other = plugging.keyboard(KEYBOARD._replace(serial="HID457"), SOCKETS[2])
    with pytest.raises(PortUnavailable, match="2 attached devices look like this"):
        open_port("usb:1209:0002", Link())
    with closing(open_port("usb:1209:0002:HID457", Link())) as port:
        assert has_driver("HID456")
        assert typed(port, 2, other.send, "2\n") == b"2\n"


def test_a_serial_gauge_comes_back_under_another_name_while_the_old_one_is_held(
    plugging: Plugging,
) -> None:
    gauge = plugging.serial()
    with closing(open_port("/dev/ttyACM0", Link())) as held:
        gauge.unplug()
        went("ACM123")
        gauge.plug(SOCKETS[2])
        wait_until(lambda: nodes("ACM123") == ["/dev/ttyACM1"], "back as ttyACM1")
        with pytest.raises(PortLost):
            gathered(held, 1)
        with closing(open_port("/dev/ttyACM1", Link())) as port:
            assert port.identity.text == "usb:1209:0001:ACM123"
            gauge.send("1.5\n")
            assert gathered(port, 4) == b"1.5\n"


def test_a_descriptor_full_of_signs_does_no_harm(plugging: Plugging) -> None:
    says = Descriptor(0x1209, 0x0001, 'a"b%$*[', 'x"; RUN+="/bin/sh', "\x1b[2J")
    plugging.serial(says)
    with closing(open_port("/dev/ttyACM0", Link())) as port:
        assert port.identity.text.isprintable()
