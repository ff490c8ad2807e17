"""What hostile or odd reports may do to the decoder, and a device used as a button."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.hid.decoder import KeyDecoder, Keys, keys_pressed
from drivers.hid.layouts import ALT, CTRL, GUI, KEYPAD, LAYOUTS, LayoutName

NAMES: list[LayoutName] = ["us", "de", "fr"]
NO_KEY = bytes(8)


def report(*usages: int, modifiers: int = 0) -> bytes:
    """A boot report with these keys down."""
    return bytes([modifiers, 0, *usages]).ljust(8, b"\0")


@given(
    st.sampled_from(NAMES),
    st.booleans(),
    st.none() | st.integers(1, 255),
    st.lists(st.binary(max_size=70), max_size=30),
)
def test_any_bytes_give_characters_of_the_layout_and_few_plain_notes(
    layout: LayoutName, alt_numpad: bool, report_id: int | None, reports: list[bytes]
) -> None:
    decoder = KeyDecoder(layout, alt_numpad=alt_numpad, report_id=report_id)
    known = {*"".join(LAYOUTS[layout].values()), *KEYPAD.values()}
    known |= {chr(code) for code in range(32, 127)} if alt_numpad else set()
    for one in reports:
        keys = decoder.take(one)
        assert set(keys.text) <= known
        assert len(keys.text) <= 7  # six slots, and a character that Alt and digits made
        assert len(keys.notes) <= 8
        assert all(note.isascii() and note.isprintable() and len(note) < 25 for note in keys.notes)


@given(
    st.sampled_from(NAMES),
    st.sampled_from([0x01, 0x08, 0x10, 0x80, 0x04, 0x40]),
    st.integers(0, 255),
    st.integers(4, 255),
)
def test_no_chord_ever_types(layout: LayoutName, held: int, others: int, usage: int) -> None:
    keys = KeyDecoder(layout).take(report(usage, modifiers=held | others))
    assert keys == Keys("", (f"modifier-{held | others:02x}+{usage:02x}",))


def test_a_stuck_modifier_types_nothing_until_it_is_released() -> None:
    decoder = KeyDecoder("us")
    for _ in range(1000):
        assert decoder.take(report(0x1E, modifiers=CTRL & 0x0F)).text == ""
        assert decoder.take(report(modifiers=CTRL & 0x0F)) == Keys("", ())
    assert decoder.take(report(0x1E)) == Keys("1", ())


def test_a_modifier_released_while_the_key_stays_down_is_no_new_press() -> None:
    decoder = KeyDecoder("us")
    decoder.take(report(0x15, modifiers=GUI & 0x0F))
    assert decoder.take(report(0x15)) == Keys("", ())


def test_the_same_key_in_two_slots_is_one_press() -> None:
    assert KeyDecoder("us").take(report(0x1E, 0x1E)) == Keys("1", ())


def test_an_endless_alt_number_stays_small() -> None:
    decoder = KeyDecoder("us", alt_numpad=True)
    for _ in range(5000):
        decoder.take(report(0x61, modifiers=ALT & 0x0F))  # keypad 9
        decoder.take(report(modifiers=ALT & 0x0F))
    assert decoder.take(NO_KEY) == Keys("", ("alt-code-65535",))


def test_a_character_made_with_alt_comes_before_the_keys_of_its_report() -> None:
    decoder = KeyDecoder("us", alt_numpad=True)
    for usage in (0x5C, 0x5D):  # keypad 4 and 5: 45 is "-"
        decoder.take(report(usage, modifiers=ALT & 0x0F))
    assert decoder.take(report(0x1E)) == Keys("-1", ())


def test_a_device_with_a_report_id_that_sends_nothing_is_short() -> None:
    assert KeyDecoder("us", report_id=2).take(b"") == Keys("", ("short-report",))
    assert KeyDecoder("us", report_id=2).take(b"\x02") == Keys("", ("short-report",))


@pytest.mark.parametrize(
    ("before", "now", "expected"),
    [
        (b"", report(0x04), {0x04}),
        (NO_KEY, report(0x04), {0x04}),
        (NO_KEY, report(0x4F), {0x4F}),  # an arrow will do
        (NO_KEY, report(modifiers=0x01), {0xE0}),  # a foot switch may send no more than Ctrl
        (NO_KEY, report(0x68, modifiers=0x82), {0x68, 0xE1, 0xE7}),
        (report(0x04), report(0x04), set()),
        (report(0x04), report(0x04, 0x05), {0x05}),
        (report(0x04, 0x05), report(0x05, 0x04), set()),
        (report(0x04), report(0x05), {0x05}),
        (report(0x04), NO_KEY, set()),
        (report(modifiers=0x03), report(modifiers=0x01), set()),
        (report(modifiers=0x01), report(modifiers=0x02), {0xE1}),
        (NO_KEY, report(1, 1, 1, 1, 1, 1), set()),  # roll-over
        (report(1, 1, 1, 1, 1, 1), report(0x04), set()),  # nobody knows what was down before
        (NO_KEY, report(2, 3), set()),
        (NO_KEY, b"\x00\x00\x04", set()),
        (b"\x01", report(0x04), set()),
        (NO_KEY, b"", set()),
        (NO_KEY, bytes([0, 0xFF, 0, 0, 0, 0, 0, 0]), set()),  # the reserved byte
        (NO_KEY, report(0x04) + b"\xff", {0x04}),
    ],
)
def test_a_button_is_pressed_when_something_goes_down(
    before: bytes, now: bytes, expected: set[int]
) -> None:
    assert keys_pressed(before, now) == expected


def test_a_button_with_report_id_is_read_behind_it() -> None:
    up, down = b"\x02" + NO_KEY, b"\x02" + report(0x04, modifiers=0x20)
    assert keys_pressed(bytes(8), down, report_id=2) == {0x04, 0xE5}
    assert keys_pressed(up, down, report_id=2) == {0x04, 0xE5}
    assert not keys_pressed(b"", up, report_id=2)
    assert not keys_pressed(up, b"\x03" + report(0x04), report_id=2)


@given(st.binary(max_size=12), st.binary(max_size=12), st.none() | st.integers(1, 255))
def test_any_bytes_of_a_button_are_keys_of_its_report_or_none(
    a: bytes, b: bytes, report_id: int | None
) -> None:
    assert not keys_pressed(a, a, report_id=report_id) or not a.strip(b"\0")
    assert all(
        usage in b or 0xE0 <= usage <= 0xE7 for usage in keys_pressed(a, b, report_id=report_id)
    )
