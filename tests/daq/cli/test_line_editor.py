"""Keys to lines on the redrawn terminal."""

from hypothesis import given
from hypothesis import strategies as st

from daq.cli.line_editor import MOST_LINE, LineEditor


def typed(keys: str) -> tuple[list[str], str]:
    editor = LineEditor()
    lines = [line for key in keys if (line := editor.press(key)) is not None]
    return lines, editor.text


def test_enter_ends_a_line() -> None:
    assert typed("back\rnote x\nst") == (["back", "note x"], "st")


def test_backspace_and_clear_take_back() -> None:
    assert typed("bacc\x7fk\r") == (["back"], "")
    assert typed("\x7f\x08a") == ([], "a")
    assert typed("rubbish\x15drop\r") == (["drop"], "")


def test_arrow_and_function_keys_mean_nothing() -> None:
    assert typed("ba\x1b[Ack\x1b[15~\r") == (["back"], "")
    assert typed("\x1bOPback\r") == (["back"], "")


def test_escape_alone_takes_nothing_with_it() -> None:
    assert typed("\x1b\rkeep\r") == (["", "keep"], "")
    assert typed("\x1bkeep\r") == (["keep"], "")


@given(st.text(max_size=200))
def test_no_key_raises_and_no_control_character_gets_in(keys: str) -> None:
    lines, rest = typed(keys)
    assert all(line.isprintable() for line in [*lines, rest])


def test_a_line_is_bounded() -> None:
    assert len(typed("x" * (MOST_LINE + 10))[1]) == MOST_LINE
