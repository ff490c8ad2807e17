"""What a simulated keyboard sends, against reports written by hand."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulator.errors import SimulatorError
from simulator.keystrokes import (
    LEFT_ALT,
    LEFT_CTRL,
    LEFT_GUI,
    LEFT_SHIFT,
    RELEASED,
    ROLL_OVER,
    Hand,
    chord,
    report,
    typed,
    typed_by_code,
    typed_on_keypad,
)
from simulator.layouts import KEYPAD, LAYOUTS, key_of
from tests.places import VECTORS

TABLES: dict[str, Any] = json.loads((VECTORS / "hid_layouts.json").read_text(encoding="utf-8"))
HANDMADE = {
    vector["id"]: tuple(bytes.fromhex(one) for one in vector["reports"])
    for vector in map(json.loads, (VECTORS / "hid.jsonl").read_text(encoding="utf-8").splitlines())
}


@pytest.mark.parametrize(
    ("name", "reports"),
    [
        ("h01", typed("12.345\n")),
        ("h02", typed("-0.001\n")),
        ("h03", typed("+9,8\n")),
        ("h04", typed_on_keypad("-10.5\n")),
        ("h05", (*typed("123", hand="rolling"), *typed("\n"))),
        ("h07", typed("123\n", hand="unreleased")),
    ],
)
def test_typing_is_that_of_the_hand_made_reports(name: str, reports: tuple[bytes, ...]) -> None:
    assert reports == HANDMADE[name]


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_key_types_what_the_hand_made_table_says(layout: str) -> None:
    table = TABLES["layouts"][layout]
    for character, (usage, is_shifted) in LAYOUTS[layout].items():
        assert table[f"{usage:02x}"][int(is_shifted)] == character


@pytest.mark.parametrize("layout", ["us", "de", "fr"])
def test_every_layout_types_what_a_gauge_may_send(layout: str) -> None:
    for (
        character
    ) in "0123456789+-.,:;*/=# \t\nabcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ":
        if (layout, character) != ("fr", "#"):  # AltGr and 3 there
            key_of(character, layout)


def test_the_keypad_is_that_of_the_hand_made_table() -> None:
    assert {f"{usage:02x}": character for character, usage in KEYPAD.items()} == TABLES["keypad"]


def test_the_layout_changes_the_key() -> None:
    # the minus is left of Backspace's neighbour on us, right of the point on de, under 6 on fr
    assert [key_of("-", layout) for layout in ("us", "de", "fr")] == [
        (0x2D, False),
        (0x38, False),
        (0x23, False),
    ]
    assert typed("1", "fr")[0] == bytes([LEFT_SHIFT, 0, 0x1E, 0, 0, 0, 0, 0])


@given(
    text=st.text("0123456789.-+\n", max_size=30),
    hand=st.sampled_from(["released", "rolling", "unreleased"]),
)
def test_keys_newly_down_are_the_text_however_they_are_struck(text: str, hand: Hand) -> None:
    keys = {(usage, shift): char for char, (usage, shift) in LAYOUTS["us"].items()}
    got = ""
    down: set[int] = set()
    for one in typed(text, hand=hand):
        now = [usage for usage in one[2:] if usage]
        got += "".join(keys[usage, bool(one[0])] for usage in now if usage not in down)
        down = set(now)
    assert got == text
    assert not down


def test_a_stuck_modifier_is_in_every_report() -> None:
    assert typed("5", stuck=LEFT_CTRL) == (
        bytes([LEFT_CTRL, 0, 0x22, 0, 0, 0, 0, 0]),
        bytes([LEFT_CTRL, 0, 0, 0, 0, 0, 0, 0]),
    )


def test_a_chord_goes_down_and_up() -> None:
    # GUI and r, usage 15 hex
    assert chord(0x15, LEFT_GUI) == (
        b"\x08\0\0\0\0\0\0\0",
        b"\x08\0\x15\0\0\0\0\0",
        b"\x08\0\0\0\0\0\0\0",
        RELEASED,
    )


def test_a_character_by_its_number() -> None:
    # "5" is 53: Alt down, keypad 5 (5D hex) and 3 (5B hex), Alt up
    alt = bytes([LEFT_ALT, 0, 0, 0, 0, 0, 0, 0])
    five, three = (bytes([LEFT_ALT, 0, usage, 0, 0, 0, 0, 0]) for usage in (0x5D, 0x5B))
    assert typed_by_code("5") == (alt, five, alt, three, alt, RELEASED)
    assert typed_by_code("\n") == typed("\n")


def test_seven_keys_at_once_are_a_roll_over() -> None:
    assert report(range(4, 10)) == bytes([0, 0, 4, 5, 6, 7, 8, 9])
    assert report(range(4, 11)) == ROLL_OVER == bytes([0, 0, 1, 1, 1, 1, 1, 1])
    assert report(range(4, 11), LEFT_SHIFT)[0] == LEFT_SHIFT


def test_what_cannot_be_typed() -> None:
    with pytest.raises(SimulatorError, match="no key of the us layout types 'ß'"):
        typed("ß")
    with pytest.raises(SimulatorError, match="unknown layout 'xx'; known: us, de, fr"):
        typed("1", "xx")
    with pytest.raises(SimulatorError, match="no key of the keypad types 'm'"):
        typed_on_keypad("1 mm".replace(" ", ""))
    with pytest.raises(SimulatorError, match="bytes"):
        report([300])
    with pytest.raises(SimulatorError, match="unknown hand"):
        typed("12", hand="third")  # type: ignore[arg-type] # that is the point
