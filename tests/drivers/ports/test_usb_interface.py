"""A keyboard interface found, taken, read and lost, through pyusb with a bus that is played."""

import errno
import os
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import usb.backend.libusb1  # type: ignore[import-untyped]  # pyusb has no types
from pytest_mock import MockerFixture

from drivers.attached.device_id import DeviceId
from drivers.errors import PortBusy, PortError, PortLost, PortNameError, PortUnavailable
from drivers.ports import usb_bus, usb_interface
from drivers.ports.usb_interface import KeyboardInterface, open_keyboard
from tests.drivers.fake_usb import (
    BOOT_MOUSE,
    NO_KEY,
    PLAIN_HID,
    SET_IDLE,
    SET_PROTOCOL,
    FakeDevice,
    FakeInterface,
    FakeUsb,
    trouble,
)

KEY = b"\0\0\x1e\0\0\0\0\0"
NAME = "usb:1209:0002:KB1"
# Source: USB HID 1.11, appendix B.1, with a report id and without LEDs (from memory).
KEYBOARD_2 = bytes.fromhex(
    "05010906a1018502050719e029e71500250175019508810295017508810195067508150025650507190029658100c0"
)
BITMAP = bytes.fromhex("05010906a101050719e029e715002501750195088102050719002977957875018102c0")

Open = Callable[..., KeyboardInterface]


@pytest.fixture
def take() -> Iterator[Open]:
    """`open_keyboard`, closed again afterwards."""
    opened: list[KeyboardInterface] = []

    def run(name: str, bus: FakeUsb) -> KeyboardInterface:
        opened.append(open_keyboard(name, bus))
        return opened[-1]

    yield run
    for one in opened:
        one.close()


def refusal(kind: type[PortError], name: str, bus: FakeUsb) -> str:
    with pytest.raises(kind) as caught:
        open_keyboard(name, bus)
    assert str(caught.value).isprintable()
    return caught.value.reason


def drivers(device: FakeDevice) -> list[bool]:
    """Whether the kernel's driver has each interface."""
    return [interface.is_bound for interface in device.interfaces]


# Open and close


def test_only_the_keyboard_interface_is_taken_and_all_is_given_back(take: Open) -> None:
    device = FakeDevice(interfaces=[FakeInterface(BOOT_MOUSE), FakeInterface(), FakeInterface()])
    bus = FakeUsb(device)
    keyboard = take(NAME, bus)
    assert drivers(device) == [True, False, True]
    assert bus.log == [("detach", 1), ("claim", 1)]
    assert device.requests == [SET_PROTOCOL, SET_IDLE]
    assert keyboard.name == NAME
    assert keyboard.identity == DeviceId(NAME, "KB1", "1-2")
    assert keyboard.report_id is None
    keyboard.close()
    keyboard.close()
    assert bus.log[2:] == [("report protocol", 1), ("release", 1), ("attach", 1)]
    assert drivers(device) == [True, True, True]


def test_the_protocol_is_set_back_as_it_was_found(take: Open) -> None:
    """Source: USB HID 1.11, 7.2.6: a device begins in report protocol (from memory)."""
    device = FakeDevice()
    keyboard = take(NAME, FakeUsb(device))
    assert device.protocol == 0
    keyboard.close()
    assert device.protocol == 1


@pytest.mark.parametrize(
    "device",
    [
        FakeDevice(stalls={SET_PROTOCOL}),
        FakeDevice(interfaces=[FakeInterface(PLAIN_HID, descriptor=KEYBOARD_2)]),
    ],
    ids=["refused", "never asked"],
)
def test_a_protocol_that_was_not_set_is_not_set_back(take: Open, device: FakeDevice) -> None:
    bus = FakeUsb(device)
    keyboard = take(NAME, bus)
    before = list(device.requests)
    keyboard.close()
    assert device.requests == before
    assert bus.log[-2:] == [("release", 0), ("attach", 0)]


@pytest.mark.parametrize("number", [errno.EPIPE, errno.ETIMEDOUT, errno.ENODEV])
def test_a_protocol_that_cannot_be_set_back_delays_nothing(
    take: Open, mocker: MockerFixture, number: int
) -> None:
    device = FakeDevice()
    bus = FakeUsb(device)
    keyboard = take(NAME, bus)
    asked = mocker.patch.object(bus, "ctrl_transfer", side_effect=trouble(number))
    keyboard.close()
    keyboard.close()
    assert [call.args[2:5] for call in asked.call_args_list] == [(SET_PROTOCOL, 1, 0)]
    assert asked.call_args.args[6] <= 250  # ms that the system waits at most
    assert bus.log[2:] == [("release", 0), ("attach", 0)]
    assert drivers(device) == [True]


def test_a_driver_that_was_not_there_is_not_put_there(take: Open) -> None:
    device = FakeDevice(interfaces=[FakeInterface(is_bound=False)])
    take(NAME, FakeUsb(device)).close()
    assert drivers(device) == [False]


@pytest.mark.parametrize("stalls", [{SET_PROTOCOL}, {SET_IDLE}, {SET_PROTOCOL, SET_IDLE}])
def test_a_device_may_refuse_the_requests(take: Open, stalls: set[int]) -> None:
    device = FakeDevice(stalls=stalls, sends=[KEY])
    assert take(NAME, FakeUsb(device)).read_report(1.0) == KEY


def test_a_boot_keyboard_that_refuses_boot_protocol_says_how_it_reports(take: Open) -> None:
    device = FakeDevice(
        stalls={SET_PROTOCOL},
        interfaces=[FakeInterface(descriptor=KEYBOARD_2)],
        sends=[b"\2" + KEY],
    )
    keyboard = take(NAME, FakeUsb(device))
    assert keyboard.report_id == 2
    assert keyboard.read_report(1.0) == b"\2" + KEY


def test_a_keyboard_without_boot_protocol_is_found_by_its_description(take: Open) -> None:
    mouse, keyboard = (
        FakeInterface(PLAIN_HID, descriptor=b"\x05\x01\x09\x02\xa1\x01\xc0"),
        (FakeInterface(PLAIN_HID, packet=16, descriptor=KEYBOARD_2)),
    )
    device = FakeDevice(interfaces=[mouse, keyboard], sends=[b"\2" + KEY])
    taken = take(NAME, FakeUsb(device))
    assert (taken.report_id, drivers(device)) == (2, [True, False])


def test_a_keyboard_of_another_form_is_refused_and_given_back() -> None:
    device = FakeDevice(interfaces=[FakeInterface(PLAIN_HID, descriptor=BITMAP)])
    assert "in a form that this program cannot read" in refusal(
        PortUnavailable, NAME, FakeUsb(device)
    )
    assert drivers(device) == [True]


def test_a_hid_device_that_is_no_keyboard_is_refused_and_given_back() -> None:
    device = FakeDevice(interfaces=[FakeInterface(PLAIN_HID), FakeInterface(PLAIN_HID)])
    assert "does not type like a keyboard" in refusal(PortUnavailable, NAME, FakeUsb(device))
    assert drivers(device) == [True, True]


def test_a_keyboard_without_an_endpoint_is_refused_and_given_back() -> None:
    device = FakeDevice(interfaces=[FakeInterface(endpoints=0)])
    assert "nothing can be read from" in refusal(PortUnavailable, NAME, FakeUsb(device))
    assert drivers(device) == [True]


def test_a_device_without_configuration_is_refused_not_configured() -> None:
    device = FakeDevice(is_configured=False)
    assert "Configuration not set" in refusal(PortUnavailable, NAME, FakeUsb(device))


def test_a_device_of_another_program_is_busy() -> None:
    device = FakeDevice(interfaces=[FakeInterface(is_bound=False, holder="another program")])
    assert "another program is using it" in refusal(PortBusy, NAME, FakeUsb(device))
    assert device.interfaces[0].holder == "another program"


def test_a_device_that_is_open_here_is_busy_for_a_second_open(take: Open) -> None:
    bus = FakeUsb(FakeDevice(sends=[KEY]))
    keyboard = take(NAME, bus)
    refusal(PortBusy, NAME, bus)
    assert keyboard.read_report(1.0) == KEY


def test_a_driver_gone_between_look_and_detach_is_as_good(
    take: Open, mocker: MockerFixture
) -> None:
    device = FakeDevice(interfaces=[FakeInterface(is_bound=False)], sends=[KEY])
    bus = FakeUsb(device)
    mocker.patch.object(bus, "is_kernel_driver_active", return_value=True)
    assert take(NAME, bus).read_report(1.0) == KEY


def test_without_permission_the_whole_command_that_prints_the_rule_is_named() -> None:
    device = FakeDevice(is_permitted=False)
    # without permission and without the system's table its number is not to be had either
    bus = FakeUsb(device)
    told = refusal(PortUnavailable, "usb:1209:0002@1-2", bus)
    assert "the rule that `jbridge udev --for usb:1209:0002@1-2` prints" in told
    assert "others of its kind are: usb:1209:0002@1-2" in refusal(PortUnavailable, NAME, bus)


def test_a_rule_is_advised_for_the_device_itself_where_a_name_means_its_kind(
    mocker: MockerFixture,
) -> None:
    device = FakeDevice(interfaces=[FakeInterface(is_bound=False)])  # nobody's keyboard
    bus = FakeUsb(device)
    mocker.patch.object(bus, "claim_interface", side_effect=trouble(errno.EACCES))
    told = refusal(PortUnavailable, "usb:1209:0002", bus)
    assert "`jbridge udev --for usb:1209:0002:KB1`" in told


@pytest.mark.parametrize("step", ["claim_interface", "ctrl_transfer", "detach_kernel_driver"])
def test_a_device_that_goes_away_while_it_is_opened(mocker: MockerFixture, step: str) -> None:
    bus = FakeUsb(FakeDevice())
    mocker.patch.object(bus, step, side_effect=trouble(errno.ENODEV))
    # by socket, as ctrl_transfer reads the number too
    assert "went away" in refusal(PortUnavailable, "usb:1209:0002@1-2", bus)


@pytest.mark.parametrize("end", [KeyboardInterrupt, SystemExit, RuntimeError])
@pytest.mark.parametrize("step", ["claim_interface", "get_configuration"])
def test_whatever_interrupts_an_open_gives_back(
    mocker: MockerFixture, step: str, end: type[BaseException]
) -> None:
    device = FakeDevice()
    bus = FakeUsb(device)
    mocker.patch.object(bus, step, side_effect=end)
    with pytest.raises(end):
        open_keyboard(NAME, bus)
    assert drivers(device) == [True]


def test_the_only_keyboard_is_not_touched_by_a_bare_name() -> None:
    device = FakeDevice()
    bus = FakeUsb(device)
    assert "only USB keyboard" in refusal(PortUnavailable, "usb:1209:0002", bus)
    assert (bus.log, drivers(device)) == ([], [True])


def test_a_bare_name_will_do_beside_another_keyboard(take: Open) -> None:
    users = FakeDevice(vendor=0x0627, product=1, ports=(1,), address=3)
    device = FakeDevice()
    take("usb:1209:0002", FakeUsb(users, device))
    assert (drivers(users), drivers(device)) == ([True], [False])


@pytest.mark.parametrize(
    "evil",
    ['"; rm -rf ~ #', "a\nb", "%s%n", "$HOME", "*?[a]", "\x1b[2J\x07", "\u202etxt", "é" * 60],
)
def test_hostile_texts_of_a_device_are_harmless_where_they_are_shown(evil: str) -> None:
    one, two = FakeDevice(serial=evil, title=evil), FakeDevice(serial=evil, title=evil, ports=(3,))
    reason = refusal(PortUnavailable, "usb:1209:0002", FakeUsb(one, two))
    assert "2 attached devices look like this" in reason
    assert "usb:1209:0002@1-2" in reason
    assert len(reason) < 500


def test_a_device_with_broken_texts_and_no_socket_is_still_found(
    take: Open, mocker: MockerFixture
) -> None:
    users = FakeDevice(vendor=0x0627, product=1, ports=(1,), address=3)
    bus = FakeUsb(users, FakeDevice(ports=None, sends=[KEY]))
    mocker.patch.object(bus, "_string", return_value=b"")
    keyboard = take("usb:1209:0002", bus)
    assert keyboard.identity == DeviceId("usb:1209:0002", None, "")
    assert keyboard.read_report(1.0) == KEY


def test_a_wrong_name_is_refused_before_any_look() -> None:
    bus = FakeUsb()
    refusal(PortNameError, "usb:12", bus)
    assert bus.looks == 0


# Platform


@pytest.mark.parametrize("platform", ["win32", "darwin"])
def test_elsewhere_than_on_linux_it_says_what_works(mocker: MockerFixture, platform: str) -> None:
    mocker.patch("sys.platform", platform)
    with pytest.raises(PortUnavailable, match=r"on Linux only.*virtual COM port"):
        open_keyboard(NAME)


def test_a_missing_library_is_named_by_its_package(mocker: MockerFixture) -> None:
    mocker.patch.object(usb.backend.libusb1, "get_backend", return_value=None)
    with pytest.raises(PortUnavailable, match=r"package libusb-1\.0-0"):
        open_keyboard(NAME)


def test_a_library_that_cannot_detach_says_that_the_platform_cannot(mocker: MockerFixture) -> None:
    bus = FakeUsb(FakeDevice())
    mocker.patch.object(bus, "is_kernel_driver_active", side_effect=NotImplementedError)
    assert "on Linux only" in refusal(PortUnavailable, NAME, bus)


def test_the_systems_own_table_says_number_and_driver(
    mocker: MockerFixture, tmp_path: Path
) -> None:
    for socket, serial in (("1-2", b"KB1\n"), ("1-3", b"\xff\xfe\n"), ("1-4", None)):
        folder = tmp_path / socket
        folder.mkdir()
        (folder / "product").write_bytes(b"bench \x1b[2Jgauge\n")
        if serial is not None:
            (folder / "serial").write_bytes(serial)
    for socket, driver in (("1-2:1.0", "usbhid"), ("1-3:1.0", "usbfs")):
        (tmp_path / socket).mkdir()
        os.symlink(f"/sys/bus/usb/drivers/{driver}", tmp_path / socket / "driver")
    # no permission for any of them: nothing may be asked of the devices themselves
    bus = FakeUsb(*(FakeDevice(ports=(n,), is_permitted=False) for n in (4, 3, 2)))
    mocker.patch.object(usb.backend.libusb1, "get_backend", return_value=bus)
    mocker.patch.object(usb_bus, "_SYSFS", str(tmp_path))
    seen = [one for _, one in usb_bus.Bus("usb").attached()]
    assert [(one.socket, one.serial, one.bound, one.node) for one in seen] == [
        ("1-2", "KB1", (0,), "/dev/bus/usb/001/004"),
        ("1-3", None, (), "/dev/bus/usb/001/004"),
        ("1-4", None, (), "/dev/bus/usb/001/004"),
    ]
    assert {one.title for one in seen} == {"bench ?[2Jgauge"}


# Read


def test_reports_come_in_order_and_empty_packets_do_not_count(take: Open) -> None:
    keyboard = take(NAME, FakeUsb(FakeDevice(sends=[b"", KEY, b"", b"", NO_KEY, b"\1"])))
    assert [keyboard.read_report(1.0) for _ in range(3)] == [KEY, NO_KEY, b"\1"]


def test_silence_takes_the_time_it_was_given(take: Open) -> None:
    keyboard = take(NAME, FakeUsb(FakeDevice()))
    began = time.monotonic()
    assert keyboard.read_report(0.05) is None
    assert 0.04 < time.monotonic() - began < 0.4
    assert keyboard.read_report(0.0) is None
    assert keyboard.read_report(-1.0) is None


def test_an_idle_second_costs_two_reads(take: Open) -> None:
    bus = FakeUsb(FakeDevice())
    keyboard = take(NAME, bus)
    assert keyboard.read_report(1.0) is None
    assert bus.reads in (2, 3)  # the last may be the rest of a clock tick


def test_without_a_time_it_waits_until_something_comes(take: Open) -> None:
    device = FakeDevice()
    bus = FakeUsb(device)
    keyboard = take(NAME, bus)
    sender = threading.Timer(0.7, bus.send, (device, KEY))  # longer than one wait
    sender.start()
    assert keyboard.read_report(None) == KEY
    sender.join()


@pytest.mark.parametrize(
    ("packet", "read"), [(8, 8), (16, 16), (64, 64), (4, 8), (0, 8), (0x1800 | 8, 8)]
)
def test_whole_packets_are_read(take: Open, mocker: MockerFixture, packet: int, read: int) -> None:
    bus = FakeUsb(FakeDevice(interfaces=[FakeInterface(packet=packet)], sends=[KEY]))
    spy = mocker.spy(bus, "intr_read")
    take(NAME, bus).read_report(1.0)
    assert len(spy.call_args.args[3]) == read


# Loss


@pytest.mark.parametrize(
    "sends",
    [
        [trouble(errno.ENODEV)],
        [trouble(errno.EIO), trouble(errno.EIO)],
        [trouble(errno.EIO), trouble(errno.ENODEV)],
        [trouble(errno.EPIPE), trouble(errno.EPIPE)],
        [trouble(errno.EIO), trouble(errno.EPIPE), trouble(errno.EIO)],
        [trouble(errno.EOVERFLOW), trouble(errno.EOVERFLOW)],
        [trouble(errno.EACCES)],
        [NotImplementedError("made up")],
    ],
    ids=["gone", "bus error", "bus error, gone", "stall", "both", "overflow", "rights", "cannot"],
)
def test_a_trouble_that_stays_is_a_loss(take: Open, sends: list[bytes | Exception]) -> None:
    keyboard = take(NAME, FakeUsb(FakeDevice(sends=[KEY, *sends])))
    assert keyboard.read_report(1.0) == KEY
    with pytest.raises(PortLost, match="unplugged") as caught:
        keyboard.read_report(1.0)
    assert caught.value.port == NAME


@pytest.mark.parametrize("number", [errno.EIO, errno.EPIPE, errno.EOVERFLOW])
def test_a_trouble_that_passes_loses_nothing(take: Open, number: int) -> None:
    device = FakeDevice(sends=[trouble(number), KEY, trouble(number), NO_KEY])
    keyboard = take(NAME, FakeUsb(device))
    assert [keyboard.read_report(1.0) for _ in range(2)] == [KEY, NO_KEY]
    assert device.halts_cleared == (2 if number == errno.EPIPE else 0)


def test_a_stall_that_cannot_be_cleared_is_a_loss(take: Open, mocker: MockerFixture) -> None:
    bus = FakeUsb(FakeDevice(sends=[trouble(errno.EPIPE), KEY]))
    mocker.patch.object(bus, "clear_halt", side_effect=trouble(errno.ENODEV))
    with pytest.raises(PortLost):
        take(NAME, bus).read_report(1.0)


def test_a_device_that_vanished_in_silence_is_noticed(take: Open, mocker: MockerFixture) -> None:
    mocker.patch.object(usb_interface, "PRESENCE_S", 0.2)
    mocker.patch.object(usb_interface, "STEP_S", 0.05)
    device = FakeDevice(is_silent=True)
    bus = FakeUsb(device)
    keyboard = take(NAME, bus)
    assert keyboard.read_report(0.5) is None  # there and silent
    assert 2 <= bus.looks <= 4  # the open, and a look every 0.2 s
    bus.unplug(device)
    with pytest.raises(PortLost, match="unplugged"):
        keyboard.read_report(3.0)


def test_a_device_back_in_its_socket_is_another_until_it_is_opened(
    take: Open, mocker: MockerFixture
) -> None:
    mocker.patch.object(usb_interface, "PRESENCE_S", 0.0)
    mocker.patch.object(usb_interface, "STEP_S", 0.05)
    device = FakeDevice(is_silent=True)
    bus = FakeUsb(device)
    keyboard = take(NAME, bus)
    bus.unplug(device)
    bus.plug_in(device)
    with pytest.raises(PortLost):
        keyboard.read_report(3.0)
    keyboard.close()
    assert drivers(device) == [True]
    again = take(NAME, bus)
    bus.send(device, KEY)
    assert again.read_report(1.0) == KEY
    assert again.identity == keyboard.identity


def test_a_device_of_which_nothing_can_be_read_is_listed_with_empty_facts(
    mocker: MockerFixture,
) -> None:
    bus = FakeUsb(FakeDevice(ports=None))
    for what in ("open_device", "get_configuration_descriptor"):
        mocker.patch.object(bus, what, side_effect=trouble(errno.EIO))
    ((_, facts),) = usb_bus.Bus("usb", bus).attached()
    assert (facts.vendor, facts.product) == (0x1209, 0x0002)
    assert (facts.serial, facts.socket, facts.title) == (None, None, "")
    assert (facts.keyboards, facts.others, facts.bound) == ((), (), ())


def test_closing_what_is_gone_raises_nothing(take: Open) -> None:
    device = FakeDevice()
    bus = FakeUsb(device)
    keyboard = take(NAME, bus)
    bus.unplug(device)
    began = time.monotonic()
    keyboard.close()
    assert time.monotonic() - began < 0.2
    with pytest.raises(PortLost, match="closed"):
        keyboard.read_report(0.1)


# Threads


def test_a_wake_up_ends_one_read_and_no_more(take: Open) -> None:
    keyboard = take(NAME, FakeUsb(FakeDevice(sends=[KEY])))
    keyboard.wake()
    keyboard.wake()
    assert keyboard.read_report(None) is None
    assert keyboard.read_report(None) == KEY


def test_close_from_another_thread_waits_for_the_read_under_way(take: Open) -> None:
    device = FakeDevice()
    keyboard = take(NAME, FakeUsb(device))
    met: list[Exception] = []

    def read() -> None:
        try:
            keyboard.read_report(None)
        except PortLost as lost:
            met.append(lost)

    reader = threading.Thread(target=read)
    reader.start()
    time.sleep(0.05)
    keyboard.close()
    reader.join(5.0)
    assert [str(lost) for lost in met] == [f"Port {NAME}: it has been closed"]
    assert drivers(device) == [True]
