"""Keyboards that a killed program left without a driver are given back."""

import errno
import os
from pathlib import Path

import pytest
import usb.backend.libusb1  # type: ignore[import-untyped]  # pyusb has no types
from pytest_mock import MockerFixture

from drivers.errors import PortUnavailable
from drivers.ports import usb_bus
from drivers.ports.usb_interface import open_keyboard
from drivers.ports.usb_release import Released, release_keyboards
from tests.drivers.fake_usb import (
    BOOT_MOUSE,
    PLAIN_HID,
    FakeDevice,
    FakeInterface,
    FakeUsb,
    trouble,
)

GAUGE = "usb:1209:0002:KB1"
KEYBOARD = bytes.fromhex("05010906a101c0")


def left(*interfaces: FakeInterface) -> FakeDevice:
    """A device as a killed program leaves it."""
    return FakeDevice(interfaces=list(interfaces) or [FakeInterface(is_bound=False)])


def test_a_keyboard_left_without_a_driver_gets_it_back() -> None:
    device = left()
    bus = FakeUsb(device)
    assert release_keyboards(bus) == (Released(GAUGE, "bench gauge", "released"),)
    assert device.interfaces[0] == FakeInterface(is_bound=True, holder=None)
    assert release_keyboards(bus) == ()


def test_what_has_its_driver_is_not_touched() -> None:
    bus = FakeUsb(FakeDevice(), FakeDevice(vendor=0x0627, ports=(3,), address=5))
    assert release_keyboards(bus) == ()
    assert bus.log == []


def test_what_a_program_uses_is_left_alone() -> None:
    device = FakeDevice()
    bus = FakeUsb(device)
    keyboard = open_keyboard(GAUGE, bus)
    (told,) = release_keyboards(bus)
    assert (told.device, told.happened) == (GAUGE, "in use")
    assert device.interfaces[0].holder is not None
    keyboard.close()
    assert release_keyboards(bus) == ()


def test_mice_and_other_hid_devices_without_a_driver_are_left_as_they_are() -> None:
    device = left(
        FakeInterface(BOOT_MOUSE, is_bound=False),
        FakeInterface(PLAIN_HID, is_bound=False),
        FakeInterface((8, 6, 80), is_bound=False),
    )
    bus = FakeUsb(device)
    assert release_keyboards(bus) == ()
    assert [one.is_bound for one in device.interfaces] == [False] * 3
    assert [one.holder for one in device.interfaces] == [None] * 3


def test_a_keyboard_without_boot_protocol_is_given_back_too() -> None:
    device = left(FakeInterface(PLAIN_HID, is_bound=False, descriptor=KEYBOARD))
    assert [one.happened for one in release_keyboards(FakeUsb(device))] == ["released"]
    assert device.interfaces[0].is_bound


def test_each_is_told_of_and_a_failure_stops_nothing() -> None:
    shut = FakeDevice(serial="KB2", ports=(1,), address=2, is_permitted=False)
    bus = FakeUsb(left(), shut)
    told = release_keyboards(bus)
    # without permission its number is not to be had: the socket names it
    assert [(one.device, one.happened) for one in told] == [
        ("usb:1209:0002@1-1", "not permitted"),
        (GAUGE, "released"),
    ]


def test_what_the_system_says_against_it_is_passed_on(mocker: MockerFixture) -> None:
    bus = FakeUsb(left())
    mocker.patch.object(bus, "attach_kernel_driver", side_effect=trouble(errno.ENOENT))
    (told,) = release_keyboards(bus)
    assert told.happened == "failed"
    assert "made up trouble 2" in told.detail


def test_keyboards_at_work_are_not_told_of_where_this_user_may_not_open_them(
    mocker: MockerFixture, tmp_path: Path
) -> None:
    for socket, driver in (("1-1", "usbhid"), ("1-2", "usbfs")):
        (tmp_path / f"{socket}:1.0").mkdir()
        os.symlink(f"/sys/bus/usb/drivers/{driver}", tmp_path / f"{socket}:1.0" / "driver")
    users = FakeDevice(vendor=0x0627, ports=(1,), address=2, is_permitted=False)
    another_users = FakeDevice(is_permitted=False)
    bus = FakeUsb(users, another_users)
    mocker.patch.object(usb.backend.libusb1, "get_backend", return_value=bus)
    mocker.patch.object(usb_bus, "_SYSFS", str(tmp_path))
    assert [(one.device, one.happened) for one in release_keyboards()] == [
        ("usb:1209:0002@1-2", "not permitted")
    ]


def test_a_bus_that_cannot_be_looked_at_is_an_error_with_words(mocker: MockerFixture) -> None:
    bus = FakeUsb()
    mocker.patch.object(bus, "enumerate_devices", side_effect=trouble(errno.EIO))
    with pytest.raises(PortUnavailable, match="cannot be looked at"):
        release_keyboards(bus)
