"""What is told of typing, where there is no keyboard."""

import pytest

from daq.page.server.as_pressed import as_pressed


@pytest.mark.parametrize(
    ("typed", "pressed"),
    [
        ("To take the same place again, type back.", "To take the same place again, press Back."),
        ("Type keep or drop first", "Press Keep or Drop first"),
        ("Finish the route, or type stop REASON. The", "Finish the route, or press Stop. The"),
        ("Type stop again to do it", "Press Stop again to do it"),
        ("Set zero and type zeroed.", "Set zero and press Zeroed."),
    ],
)
def test_a_word_that_is_typed_is_told_as_its_button(typed: str, pressed: str) -> None:
    assert as_pressed(typed) == pressed


@pytest.mark.parametrize(
    "text", ["type the value, then Enter", "Noted: prototype backs", "a type stopped", "type backs"]
)
def test_all_else_stays(text: str) -> None:
    assert as_pressed(text) == text
