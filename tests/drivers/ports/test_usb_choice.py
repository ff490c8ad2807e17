"""Which device a name means, and which may not be taken without a word."""

import pytest

from drivers.attached.device_id import DeviceId
from drivers.attached.usb_name import parse_usb_name
from drivers.errors import PortUnavailable
from drivers.ports.usb_choice import BusDevice, choose, identity

GAUGE = BusDevice(
    vendor=0x1209,
    product=2,
    serial="KB1",
    socket="1-2",
    title="bench gauge",
    keyboards=(0,),
    bound=(0,),
)
TWIN = BusDevice(
    vendor=0x1209,
    product=2,
    serial="KB2",
    socket="1-3.1",
    title="bench gauge",
    keyboards=(0,),
    bound=(0,),
)
NUMBERLESS = BusDevice(vendor=0x1209, product=2, socket="1-4", keyboards=(0,), bound=(0,))
USERS = BusDevice(
    vendor=0x0627,
    product=1,
    serial="42",
    socket="2-1",
    title="desk keyboard",
    keyboards=(0,),
    others=(1,),
    bound=(0,),
)
MOUSE = BusDevice(vendor=0x0627, product=3, socket="2-2", title="mouse")


def chosen(name: str, *attached: BusDevice) -> BusDevice:
    return choose(parse_usb_name(name), attached)


def refusal(name: str, *attached: BusDevice) -> str:
    with pytest.raises(PortUnavailable) as caught:
        chosen(name, *attached)
    return caught.value.reason


@pytest.mark.parametrize("name", ["usb:1209:0002", "usb:1209:0002:KB1", "usb:1209:0002@1-2"])
def test_beside_the_users_keyboard_any_name_that_fits_will_do(name: str) -> None:
    assert chosen(name, USERS, GAUGE, MOUSE) is GAUGE


@pytest.mark.parametrize("name", ["usb:1209:0002:KB1", "usb:1209:0002@1-2"])
def test_a_machine_with_nothing_but_its_gauge_works_by_explicit_name(name: str) -> None:
    assert chosen(name, GAUGE) is GAUGE


def test_the_only_keyboard_is_not_taken_by_its_kind_alone() -> None:
    reason = refusal("usb:0627:0001", USERS, MOUSE)
    assert reason == (
        "it is the only USB keyboard in use here, and you may be left without "
        "one. If it is the gauge, give its whole name: usb:0627:0001:42 (desk keyboard, in "
        "socket 2-1)"
    )


def test_a_keyboard_that_the_system_does_not_use_is_no_loss() -> None:
    left = BusDevice(vendor=0x1209, product=2, socket="1-2", keyboards=(0,))
    assert chosen("usb:1209:0002", left) is left


def test_another_keyboard_without_its_driver_is_no_keyboard_left() -> None:
    dumb = BusDevice(vendor=0x0627, product=1, socket="2-1", keyboards=(0,))
    assert "only USB keyboard" in refusal("usb:1209:0002", GAUGE, dumb)


def test_another_hid_device_is_no_keyboard_left() -> None:
    pedal = BusDevice(vendor=0x0627, product=9, socket="2-4", others=(0,), bound=(0,))
    assert "only USB keyboard" in refusal("usb:1209:0002", GAUGE, pedal)


def test_two_that_look_alike_are_refused_with_the_names_to_choose_from() -> None:
    assert refusal("usb:1209:0002", USERS, GAUGE, TWIN) == (
        "2 attached devices look like this. Choose one by its own name: usb:1209:0002:KB1 (bench "
        "gauge, in socket 1-2); usb:1209:0002:KB2 (bench gauge, in socket 1-3.1)"
    )


def test_two_with_one_number_are_told_apart_by_socket() -> None:
    double = BusDevice(vendor=0x1209, product=2, serial="KB1", socket="1-9", keyboards=(0,))
    reason = refusal("usb:1209:0002:KB1", USERS, GAUGE, double)
    assert "usb:1209:0002@1-2 (bench gauge" in reason
    assert "usb:1209:0002@1-9 (no product name" in reason
    assert chosen("usb:1209:0002@1-9", USERS, GAUGE, double) is double


def test_a_second_interface_that_is_no_keyboard_does_not_make_two() -> None:
    serial_mode = BusDevice(vendor=0x1209, product=2, serial="KB7", socket="1-7")
    assert chosen("usb:1209:0002", USERS, GAUGE, serial_mode) is GAUGE


def test_nothing_attached_says_so() -> None:
    assert "no such device is attached. Plug it in" in refusal("usb:1209:0002", USERS)


def test_a_wrong_number_names_those_that_are_there() -> None:
    reason = refusal("usb:1209:0002:KB9", GAUGE, TWIN)
    assert "others of its kind are: usb:1209:0002:KB1 (bench gauge" in reason
    assert "usb:1209:0002:KB2" in reason


def test_what_is_no_keyboard_says_so() -> None:
    assert "does not type like a keyboard" in refusal("usb:0627:0003", USERS, MOUSE)


@pytest.mark.parametrize(
    ("device", "attached", "expected"),
    [
        (GAUGE, [GAUGE, TWIN], DeviceId("usb:1209:0002:KB1", "KB1", "1-2")),
        (NUMBERLESS, [GAUGE, NUMBERLESS], DeviceId("usb:1209:0002@1-4", None, "1-4")),
    ],
)
def test_a_device_is_known_by_its_number_else_by_its_socket(
    device: BusDevice, attached: list[BusDevice], expected: DeviceId
) -> None:
    assert identity(device, attached) == expected


def test_the_same_number_on_another_kind_of_device_is_no_clash() -> None:
    other = BusDevice(vendor=0x0627, product=1, serial="KB1", socket="2-1", keyboards=(0,))
    assert identity(GAUGE, [GAUGE, other]) == DeviceId("usb:1209:0002:KB1", "KB1", "1-2")


def test_a_number_that_cannot_be_written_tells_nothing() -> None:
    evil = BusDevice(vendor=0x1209, product=2, serial="K\x1b[2J", socket="1-5", keyboards=(0,))
    assert identity(evil, [evil]) == DeviceId("usb:1209:0002@1-5", None, "1-5")
