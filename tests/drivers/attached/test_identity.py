"""How a device is known again after it was plugged out and in."""

from pathlib import Path
from types import SimpleNamespace

import pytest
from pytest_mock import MockerFixture

from drivers.attached.device_id import DeviceId
from drivers.attached.discovery import attached, identity_of, tree_of
from drivers.attached.machine import Machine
from tests.drivers.fake_machine import FakeMachine


@pytest.fixture
def fake(tmp_path: Path) -> FakeMachine:
    return FakeMachine(tmp_path)


def identity(fake: FakeMachine, name: str = "ttyUSB0") -> DeviceId:
    return identity_of(str(fake.machine.dev / name), fake.machine)


def test_a_device_is_known_by_its_own_number(fake: FakeMachine) -> None:
    fake.tty_usb(fake.usb("1-2", serial="A1"), "ttyUSB0")
    assert identity(fake) == DeviceId("usb:1209:0001:A1", "A1", "1-2")


def test_two_numbers_tell_two_devices_apart(fake: FakeMachine) -> None:
    fake.tty_usb(fake.usb("1-2", serial="A1"), "ttyUSB0")
    fake.tty_usb(fake.usb("1-3", serial="B2"), "ttyUSB1")
    assert identity(fake).text == "usb:1209:0001:A1"
    assert identity(fake, "ttyUSB1").text == "usb:1209:0001:B2"


def test_a_number_that_two_devices_share_tells_neither_so_the_socket_does(
    fake: FakeMachine,
) -> None:
    fake.tty_usb(fake.usb("1-2", serial="A1"), "ttyUSB0")
    fake.tty_usb(fake.usb("1-3.1", serial="A1"), "ttyUSB1")
    assert identity(fake) == DeviceId("usb:1209:0001@1-2", None, "1-2")
    assert identity(fake, "ttyUSB1").text == "usb:1209:0001@1-3.1"
    assert [one.alike for one in attached(fake.machine)] == [True, True]


def test_another_kind_of_device_may_have_the_same_number(fake: FakeMachine) -> None:
    fake.tty_usb(fake.usb("1-2", serial="A1"), "ttyUSB0")
    fake.tty_usb(fake.usb("1-3", serial="A1", product="0002"), "ttyUSB1")
    assert identity(fake).serial == "A1"


@pytest.mark.parametrize("number", [None, "", "  ", "\x07bell", "x" * 200])
def test_without_a_usable_number_the_socket_tells(fake: FakeMachine, number: str | None) -> None:
    texts = {} if number is None else {"serial": number}
    fake.tty_usb(fake.usb("1-2", **texts), "ttyUSB0")
    assert identity(fake) == DeviceId("usb:1209:0001@1-2", None, "1-2")
    assert [one.alike for one in attached(fake.machine)] == [False]


def test_a_device_under_another_name_and_in_another_socket_is_the_same(fake: FakeMachine) -> None:
    fake.tty_usb(fake.usb("2-1", serial="A1"), "ttyUSB7")
    assert identity(fake, "ttyUSB7").text == "usb:1209:0001:A1"


def test_a_link_to_a_port_is_the_port(fake: FakeMachine) -> None:
    fake.tty_acm(fake.usb("1-2", serial="A1"), "ttyACM0")
    fake.link("gauges/bench1", "ttyACM0")
    assert identity(fake, "gauges/bench1").text == "usb:1209:0001:A1"


def test_several_ports_of_one_device_keep_its_number(fake: FakeMachine) -> None:
    device = fake.usb("1-2", serial="A1")
    fake.tty_usb(device, "ttyUSB0", 0)
    fake.tty_usb(device, "ttyUSB1", 1)
    assert identity(fake) == DeviceId("usb:1209:0001:A1#00", "A1", "1-2")
    assert identity(fake, "ttyUSB1") == DeviceId("usb:1209:0001:A1#01", "A1", "1-2")


def test_a_port_that_is_gone_is_known_by_its_name(fake: FakeMachine) -> None:
    name = str(fake.machine.dev / "ttyUSB9")
    assert identity_of(name, fake.machine) == DeviceId(name)


def test_a_port_of_the_machine_is_known_by_its_name(fake: FakeMachine) -> None:
    fake.tty_onboard("ttyS0")
    (one,) = attached(fake.machine)
    assert one.identity == one.port == str(fake.machine.dev / "ttyS0")


@pytest.mark.parametrize("name", ["/dev/ttyS0", "/dev/pts/7", "socket://h:1", "loop://"])
def test_ports_that_are_not_usb_are_known_by_their_name(mocker: MockerFixture, name: str) -> None:
    scan = mocker.patch("drivers.attached.discovery.tree_of")
    assert identity_of(name) == DeviceId(name)
    scan.assert_not_called()


# --- systems without /sys ---


def listed(device: str, serial: str | None, location: str | None) -> SimpleNamespace:
    """One entry of pyserial's list of ports, with the public USB test id."""
    return SimpleNamespace(
        device=device,
        vid=0x1209,
        pid=0x0001,
        serial_number=serial,
        location=location,
        manufacturer=None,
        product=None,
        description="USB Serial",
    )


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        ([listed("/dev/cu.usb1", "A1", "20-2")], "usb:1209:0001:A1"),
        (
            [listed("/dev/cu.usb1", "A1", "20-2"), listed("/dev/cu.usb2", "A1", "20-3")],
            "usb:1209:0001@20-2",
        ),
        ([listed("/dev/cu.usb1", None, "20-2")], "usb:1209:0001@20-2"),
        ([listed("/dev/cu.usb1", None, None)], "usb:1209:0001@/dev/cu.usb1"),
        (
            [listed("/dev/cu.usb1", "A1", "20-2:x.0"), listed("/dev/cu.usb2", "A1", "20-2:x.1")],
            "usb:1209:0001:A1#x.0",
        ),
        ([], "/dev/cu.usb1"),
    ],
    ids=["number", "shared number", "none", "nothing", "two ports", "gone"],
)
def test_where_the_system_has_no_sys_pyserials_list_serves(
    mocker: MockerFixture, tmp_path: Path, found: list[SimpleNamespace], expected: str
) -> None:
    mocker.patch("serial.tools.list_ports.comports", return_value=found)
    nowhere = Machine(sys=tmp_path / "none")
    assert identity_of("/dev/cu.usb1", nowhere).text == expected


def test_a_port_without_ids_is_listed_too(mocker: MockerFixture, tmp_path: Path) -> None:
    onboard = SimpleNamespace(device="COM1", vid=None, pid=None)
    mocker.patch("serial.tools.list_ports.comports", return_value=[onboard])
    assert [tty.node for tty in tree_of(Machine(sys=tmp_path / "none")).ttys] == ["COM1"]
