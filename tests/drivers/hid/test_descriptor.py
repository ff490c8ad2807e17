"""Which HID interfaces are keyboards of the boot form."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.hid.descriptor import KeyboardReports, keyboard_reports

# Source: USB HID 1.11, appendix B.1, the boot keyboard (from memory); LED output left in.
HEAD = "05 01 09 06 a1 01"
MODIFIERS = "05 07 19 e0 29 e7 15 00 25 01 75 01 95 08 81 02"
RESERVED = "95 01 75 08 81 01"
LEDS = "95 05 75 01 05 08 19 01 29 05 91 02 95 01 75 03 91 01"
SLOTS = "95 06 75 08 15 00 25 65 05 07 19 00 29 65 81 00"
END = "c0"
# Source: USB HID 1.11, appendix B.2, the boot mouse (from memory).
MOUSE = (
    "05 01 09 02 a1 01 09 01 a1 00 05 09 19 01 29 03 15 00 25 01 95 03 75 01 81 02 95 01 75 05 "
    "81 01 05 01 09 30 09 31 15 81 25 7f 75 08 95 02 81 06 c0 c0"
)
MEDIA_KEYS = "05 0c 09 01 a1 01 85 03 19 00 2a 3c 02 15 00 26 3c 02 95 01 75 10 81 00 c0"


def described(*parts: str) -> KeyboardReports | None:
    return keyboard_reports(bytes.fromhex(" ".join(parts)))


def test_the_boot_keyboard_has_no_report_id() -> None:
    found = described(HEAD, MODIFIERS, RESERVED, LEDS, SLOTS, END)
    assert found == KeyboardReports(None, True)


def test_a_report_id_is_found() -> None:
    found = described(HEAD, "85 02", MODIFIERS, RESERVED, LEDS, SLOTS, END)
    assert found == KeyboardReports(2, True)


def test_a_keyboard_behind_a_mouse_and_before_media_keys_is_found() -> None:
    keyboard = [HEAD, "85 02", MODIFIERS, RESERVED, SLOTS, END]
    assert described(MOUSE, *keyboard, MEDIA_KEYS) == KeyboardReports(2, True)


def test_what_the_stack_of_global_items_hides_comes_back() -> None:
    # 0xa4 and 0xb4 are Push and Pop: report size and count of the reserved byte are put away
    found = described(HEAD, MODIFIERS, "a4 95 63 75 10 b4", "95 01 75 08 81 01", SLOTS, END)
    assert found == KeyboardReports(None, True)


@pytest.mark.parametrize(
    "parts",
    [
        (HEAD, MODIFIERS, "05 07 19 00 29 77 95 78 75 01 81 02", END),  # a bit for each key
        (HEAD, RESERVED, MODIFIERS, SLOTS, END),
        (HEAD, MODIFIERS, RESERVED, "95 0a 75 08 05 07 19 00 29 65 81 00", END),  # ten slots
        (HEAD, MODIFIERS, RESERVED, SLOTS, "95 01 75 08 05 0c 81 02", END),  # a ninth byte
        (HEAD, END),
    ],
    ids=["bitmap", "order", "ten slots", "ninth byte", "empty"],
)
def test_a_keyboard_of_another_form_is_one_that_cannot_be_read(parts: tuple[str, ...]) -> None:
    found = described(*parts)
    assert found is not None
    assert not found.is_boot_form


@pytest.mark.parametrize("text", [MOUSE, MEDIA_KEYS, "", "05", "fe", "fe 05 00"])
def test_what_is_no_keyboard_is_none(text: str) -> None:
    assert described(text) is None


def test_a_long_item_is_passed_over() -> None:
    # 0xfe, two bytes of data, a tag, and the data look like the end of the collection
    found = described(HEAD, "fe 02 10 c0 c0", MODIFIERS, RESERVED, SLOTS, END)
    assert found == KeyboardReports(None, True)


@given(st.binary(max_size=300))
def test_any_bytes_are_described_or_not(data: bytes) -> None:
    found = keyboard_reports(data)
    assert found is None or isinstance(found.is_boot_form, bool)
