"""How a device is known again after it was plugged out and in."""

from types import SimpleNamespace

import pytest
from pytest_mock import MockerFixture

from drivers.ports.base import DeviceId
from drivers.ports.serial_port import identity_of


def usb(device: str, serial: str | None, location: str | None) -> SimpleNamespace:
    """One entry of the list of ports, with the public USB test id."""
    return SimpleNamespace(
        device=device, vid=0x1209, pid=0x0001, serial_number=serial, location=location
    )


ONE = usb("/dev/ttyUSB0", "A1", "1-2")
ONBOARD = SimpleNamespace(
    device="/dev/ttyUSB9", vid=None, pid=None, serial_number=None, location=None
)


@pytest.mark.parametrize(
    ("listed", "expected"),
    [
        ([ONE], DeviceId("usb:1209:0001:A1", "A1")),
        ([ONE, usb("/dev/ttyUSB1", "B2", "1-3")], DeviceId("usb:1209:0001:A1", "A1")),
        # a number that two devices share tells neither: the socket has to
        ([ONE, usb("/dev/ttyUSB1", "A1", "1-3")], DeviceId("usb:1209:0001@1-2")),
        ([usb("/dev/ttyUSB0", None, "1-2")], DeviceId("usb:1209:0001@1-2")),
        ([usb("/dev/ttyUSB0", "", "1-2")], DeviceId("usb:1209:0001@1-2")),
        ([usb("/dev/ttyUSB0", None, None)], DeviceId("usb:1209:0001@/dev/ttyUSB0")),
        ([ONBOARD], DeviceId("/dev/ttyUSB0")),
        ([], DeviceId("/dev/ttyUSB0")),
    ],
    ids=["number", "two numbers", "shared number", "none", "empty", "nothing", "other", "gone"],
)
def test_a_usb_device_is_known_by_its_own_number_else_by_its_socket(
    mocker: MockerFixture, listed: list[SimpleNamespace], expected: DeviceId
) -> None:
    mocker.patch("serial.tools.list_ports.comports", return_value=listed)
    assert identity_of("/dev/ttyUSB0") == expected


def test_a_device_under_another_name_is_the_same(mocker: MockerFixture) -> None:
    moved = usb("/dev/ttyUSB7", "A1", "2-1")
    mocker.patch("serial.tools.list_ports.comports", return_value=[moved])
    assert identity_of("/dev/ttyUSB7") == DeviceId("usb:1209:0001:A1", "A1")


@pytest.mark.parametrize("name", ["/dev/ttyS0", "/dev/pts/7", "socket://h:1", "loop://"])
def test_ports_that_are_not_usb_are_known_by_their_name(mocker: MockerFixture, name: str) -> None:
    scan = mocker.patch("serial.tools.list_ports.comports")
    assert identity_of(name) == DeviceId(name)
    scan.assert_not_called()
