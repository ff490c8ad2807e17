"""Looking for an unplugged gauge. Which devices are attached is played; the kernel suite has real
ones. Opening is real where a pseudo-terminal can stand for the device.
"""

import os
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest
from pytest_mock import MockerFixture

from drivers.attached.device_id import DeviceId
from drivers.attached.discovery import Attached
from drivers.errors import PortBusy, PortUnavailable
from drivers.ports import open_port
from drivers.ports.base import Port
from drivers.ports.returning import can_return, look_for
from drivers.profile.profile import Link

LINK = Link()
SERIAL = DeviceId("usb:1209:0001:A17", "A17", "1-2")
KEYBOARD = DeviceId("usb:1209:0002:K1", "K1", "1-3")


class Fake:
    """An open port that only says what is on it."""

    def __init__(self, name: str, identity: DeviceId) -> None:
        self.name = name
        self.identity = identity
        self.is_closed = False

    def close(self) -> None:
        self.is_closed = True


def serial(port: str, identity: str, socket: str) -> Attached:
    return Attached(port=port, kind="serial", looks_like="", identity=identity, socket=socket)


def keyboard(identity: str, socket: str) -> Attached:
    return Attached(port=identity, kind="keyboard", looks_like="", identity=identity, socket=socket)


class Bus:
    """What is attached, and what opens."""

    def __init__(self, mocker: MockerFixture) -> None:
        self.attached: tuple[Attached, ...] = ()
        self.opened: list[str] = []
        self.error: Exception | None = None
        mocker.patch("drivers.ports.returning.attached", self.list)
        mocker.patch("drivers.ports.returning.open_port", self.open)

    def list(self) -> tuple[Attached, ...]:
        return self.attached

    def open(self, name: str, link: Link) -> Fake:
        self.opened.append(name)
        if self.error is not None:
            raise self.error
        found = next(one for one in self.attached if one.port == name)
        return Fake(name, DeviceId(found.identity, socket=found.socket))


@pytest.fixture
def bus(mocker: MockerFixture) -> Bus:
    return Bus(mocker)


def test_a_gauge_that_is_not_there_is_not_found(bus: Bus) -> None:
    bus.attached = (serial("/dev/ttyACM0", "usb:1209:0001:B99", "1-4"),)
    assert look_for("/dev/ttyACM0", SERIAL, LINK, gone_s=5.0, or_other=True) is None
    assert bus.opened == []


def test_the_same_gauge_is_found_under_another_name_in_another_socket(bus: Bus) -> None:
    bus.attached = (
        serial("/dev/ttyACM0", "usb:1209:0001:B99", "1-4"),
        serial("/dev/ttyACM3", SERIAL.text, "1-7"),
    )
    found = look_for("/dev/ttyACM0", SERIAL, LINK, gone_s=5.0, or_other=False)
    assert found is not None
    assert found.name == "/dev/ttyACM3"


@pytest.mark.parametrize(("or_other", "name"), [(True, "/dev/ttyACM1"), (False, None)])
def test_another_gauge_in_the_same_socket_only_where_it_is_wanted(
    bus: Bus, or_other: bool, name: str | None
) -> None:
    bus.attached = (serial("/dev/ttyACM1", "usb:1209:0001:B99", "1-2"),)
    found = look_for("/dev/ttyACM0", SERIAL, LINK, gone_s=5.0, or_other=or_other)
    assert (found and found.name) == name


def test_the_same_gauge_goes_before_another_in_its_socket(bus: Bus) -> None:
    bus.attached = (
        serial("/dev/ttyACM1", "usb:1209:0001:B99", "1-2"),
        serial("/dev/ttyACM2", SERIAL.text, "1-5"),
    )
    found = look_for("/dev/ttyACM0", SERIAL, LINK, gone_s=5.0, or_other=True)
    assert found is not None
    assert found.identity.text == SERIAL.text


def test_a_persons_keyboard_in_the_gauges_socket_is_left_alone(bus: Bus) -> None:
    bus.attached = (keyboard("usb:046d:c31c@1-3", "1-3"),)
    assert look_for(KEYBOARD.text, KEYBOARD, LINK, gone_s=5.0, or_other=True) is None
    assert bus.opened == []


def test_another_gauge_of_the_same_make_in_its_socket_is_taken(bus: Bus) -> None:
    bus.attached = (keyboard("usb:1209:0002:K2", "1-3"),)
    found = look_for(KEYBOARD.text, KEYBOARD, LINK, gone_s=5.0, or_other=True)
    assert found is not None
    assert found.identity.text == "usb:1209:0002:K2"


def test_a_twin_that_was_there_before_is_not_taken_for_the_gauge(bus: Bus) -> None:
    """Two devices of one make with one number: only the one that was plugged in since can be it."""
    twin = serial("/dev/ttyUSB1", SERIAL.text, "1-7")
    bus.attached = (msgspec.structs.replace(twin, connected_ms=60_000),)
    with pytest.raises(PortUnavailable, match="cannot be told"):
        look_for("/dev/ttyUSB0", SERIAL, LINK, gone_s=5.0, or_other=False)
    bus.attached = (msgspec.structs.replace(twin, connected_ms=800),)
    found = look_for("/dev/ttyUSB0", SERIAL, LINK, gone_s=5.0, or_other=False)
    assert found is not None


def test_a_gauge_that_is_back_beside_its_twin_is_not_waited_for_in_silence(bus: Bus) -> None:
    for socket in ("1-2", "1-7"):
        one = serial(f"/dev/ttyUSB{socket[-1]}", f"usb:1209:0001@{socket}", socket)
        bus.attached += (msgspec.structs.replace(one, alike=True),)
    with pytest.raises(PortUnavailable, match="unplug the other one"):
        look_for("/dev/ttyUSB0", SERIAL, LINK, gone_s=5.0, or_other=False)


def test_of_a_device_with_several_ports_the_same_one_is_taken(bus: Bus) -> None:
    second = DeviceId("usb:1209:0001:A17#02", "A17", "1-2")
    bus.attached = (
        serial("/dev/ttyACM0", "usb:1209:0001:B99#00", "1-2"),
        serial("/dev/ttyACM1", "usb:1209:0001:B99#02", "1-2"),
    )
    found = look_for("/dev/ttyACM1", second, LINK, gone_s=5.0, or_other=True)
    assert found is not None
    assert found.name == "/dev/ttyACM1"


def test_a_busy_gauge_is_told(bus: Bus) -> None:
    bus.attached = (serial("/dev/ttyACM0", SERIAL.text, "1-2"),)
    bus.error = PortBusy("/dev/ttyACM0", "another program")
    with pytest.raises(PortBusy):
        look_for("/dev/ttyACM0", SERIAL, LINK, gone_s=5.0, or_other=True)


def test_a_gauge_that_went_again_while_it_was_opened_is_not_there(bus: Bus) -> None:
    bus.attached = (serial("/dev/ttyACM97", SERIAL.text, "1-2"),)
    bus.error = PortUnavailable("/dev/ttyACM97", "it does not exist")
    assert look_for("/dev/ttyACM97", SERIAL, LINK, gone_s=5.0, or_other=True) is None


@pytest.fixture
def link(tmp_path: Path) -> Iterator[Path]:
    """A name that leads to a pseudo-terminal, as a udev link leads to a device."""
    master, slave = os.openpty()
    link = tmp_path / "gauge"
    link.symlink_to(os.ttyname(slave))
    yield link
    os.close(slave)
    os.close(master)


def test_a_name_is_found_again_once_it_leads_somewhere(link: Path) -> None:
    target = os.readlink(link)
    first: Port = open_port(str(link), LINK)
    first.close()
    link.unlink()
    assert look_for(str(link), first.identity, LINK, gone_s=5.0, or_other=False) is None
    link.symlink_to(target)
    again = look_for(str(link), first.identity, LINK, gone_s=5.0, or_other=False)
    assert again is not None
    again.close()


def test_a_server_that_is_not_up_is_told(bus: Bus, mocker: MockerFixture) -> None:
    mocker.patch("drivers.ports.returning.open_port", open_port)
    with pytest.raises(PortUnavailable):
        look_for(
            "socket://127.0.0.1:1",
            DeviceId("socket://127.0.0.1:1"),
            LINK,
            gone_s=5.0,
            or_other=True,
        )


@pytest.mark.parametrize(
    ("name", "can"),
    [
        ("/dev/ttyACM0", True),
        ("/dev/serial/by-id/usb-x", True),
        ("usb:1209:0002:K1", True),
        ("socket://bench:4000", True),
        ("/dev/pts/7", False),
        ("loop://", False),
    ],
)
def test_what_can_be_known_again(name: str, can: bool) -> None:
    assert can_return(name) is can
