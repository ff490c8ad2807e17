"""Keyboards that are not on USB, found in the system's list of input devices."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.attached.input_list import other_keyboards
from drivers.attached.tree import OtherKeyboard

# As Linux prints it on a laptop with a Bluetooth keyboard, from memory. The last word of KEY holds
# the keys 0 to 63; a full keyboard has 1 to 31 and more.
LISTED = """I: Bus=0019 Vendor=0000 Product=0001 Version=0000
N: Name="Power Button"
P: Phys=PNP0C0C/button/input0
S: Sysfs=/devices/LNXSYSTM:00/PNP0C0C:00/input/input0
U: Uniq=
H: Handlers=kbd event0
B: PROP=0
B: EV=3
B: KEY=8000 10000000000000 0

I: Bus=0011 Vendor=0001 Product=0001 Version=ab41
N: Name="AT Translated Set 2 keyboard"
P: Phys=isa0060/serio0/input0
S: Sysfs=/devices/platform/i8042/serio0/input/input2
U: Uniq=
H: Handlers=sysrq kbd event2 leds
B: PROP=0
B: EV=120013
B: KEY=402000000 3803078f800d001 feffffdfffefffff fffffffffffffffe
B: MSC=10
B: LED=7

I: Bus=0003 Vendor=1209 Product=0002 Version=0111
N: Name="Caliper on USB"
S: Sysfs=/devices/pci0000:00/usb1/1-2/1-2:1.0/0003:1209:0002.0001/input/input5
H: Handlers=sysrq kbd event5
B: KEY=1000000000007 ff9f207ac14057ff febeffdfffefffff fffffffffffffffe

I: Bus=0005 Vendor=1209 Product=0003 Version=011b
N: Name="Radio Caliper"
P: Phys=aa:bb:cc:dd:ee:ff
S: Sysfs=/devices/virtual/misc/uhid/0005:1209:0003.0004/input/input21
H: Handlers=sysrq kbd event9
B: KEY=1000000000007 ff9f207ac14057ff febeffdfffefffff fffffffffffffffe

I: Bus=0006 Vendor=0000 Product=0000 Version=0000
N: Name="a program that types"
S: Sysfs=/devices/virtual/input/input30
H: Handlers=sysrq kbd event11
B: KEY=fffffffffffffffe

"""


def test_what_types_digits_and_is_not_on_usb_is_found() -> None:
    """No power button, nothing on USB, no program that plays a keyboard."""
    assert other_keyboards(LISTED) == (
        OtherKeyboard(
            title="AT Translated Set 2 keyboard", by="PS/2", ids="0011:0001:0001", number="input2"
        ),
        OtherKeyboard(
            title="Radio Caliper", by="Bluetooth", ids="0005:1209:0003", number="input21"
        ),
    )


@pytest.mark.parametrize(
    ("keys", "is_found"),
    [
        ("ffc", True),  # the bits 2 to 11: the digits and nothing else
        ("7fc", False),  # no 0
        ("ffc 0", False),  # other keys: the lowest come last
        ("", False),
        ("zz", False),
    ],
)
def test_only_what_has_all_ten_digits_can_type_a_size(keys: str, is_found: bool) -> None:
    block = f"I: Bus=0018 Vendor=0000 Product=0000 Version=0000\nB: KEY={keys}\n"
    assert bool(other_keyboards(block)) is is_found


@given(st.text(max_size=300))
def test_no_text_is_too_much(text: str) -> None:
    block = f'I: Bus=0005 Vendor=1209 Product=0003\nN: Name="{text}"\nB: KEY=ffc\n{text}'
    assert all(one.title.isprintable() for one in other_keyboards(block))
