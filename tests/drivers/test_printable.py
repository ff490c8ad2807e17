"""Text from anywhere, harmless for a terminal."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers.printable import MOST_SHOWN, printable, shown


def test_what_a_terminal_would_act_on_is_a_question_mark() -> None:
    assert printable("a\x1b[2Jb\n\x07") == "a?[2Jb??"
    assert printable("a\x1b[2Jb\n\x07", keep="\n") == "a?[2Jb\n?"
    assert printable("Ø 59.97 µm") == "Ø 59.97 µm"


@pytest.mark.parametrize(
    ("text", "harmless"),
    [("a\x1b[2J", "a\\x1b[2J"), ("left\u202eright", "left\\u202eright"), ("Ø", "Ø")],
)
def test_a_device_s_own_text_is_shown_with_its_marks_escaped(text: str, harmless: str) -> None:
    assert shown(text) == harmless


@given(st.text())
def test_whatever_comes_is_printable_and_bounded(text: str) -> None:
    assert printable(text).isprintable()
    assert len(printable(text)) == len(text)
    assert shown(text).isprintable()
    assert len(shown(text)) <= MOST_SHOWN
