"""What people call a key. The numbers are those of the USB HID Usage Tables, page 0x07."""

import pytest

from drivers.hid.key_names import FIRST, LAST, key_name


@pytest.mark.parametrize(
    ("usage", "name"),
    [
        (0x04, "A (04)"),
        (0x1D, "Z (1D)"),
        (0x1E, "1 (1E)"),
        (0x27, "0 (27)"),
        (0x28, "Enter (28)"),
        (0x2B, "Tab (2B)"),
        (0x2C, "the space bar (2C)"),
        (0x3A, "F1 (3A)"),
        (0x45, "F12 (45)"),
        (0x4E, "Page Down (4E)"),
        (0x58, "keypad Enter (58)"),
        (0x59, "keypad 1 (59)"),
        (0x62, "keypad 0 (62)"),
        (0x68, "F13 (68)"),
        (0x73, "F24 (73)"),
        (0xE0, "key E0"),
        (0xA5, "key A5"),
    ],
)
def test_a_key_has_the_name_on_it_and_its_number(usage: int, name: str) -> None:
    assert key_name(usage) == name


def test_every_key_has_a_name_of_its_own() -> None:
    names = {key_name(usage) for usage in range(FIRST, LAST + 1)}
    assert len(names) == LAST - FIRST + 1
    assert all(name.isprintable() and name == name.strip() for name in names)
