"""Lines that fit a terminal."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.cli.views.paragraphs import columns, listed, padded, pieces, wrapped


def test_ideographs_take_two_columns_and_combining_marks_none() -> None:
    assert columns("第1") == 3
    assert columns("e\u0301") == 1


def test_a_paragraph_hangs_and_breaks_between_words() -> None:
    assert wrapped("grind all of the mains", 12, "", "  ") == ["grind all of", "  the mains"]


def test_only_a_word_wider_than_a_line_is_broken() -> None:
    assert wrapped("ab abcdefgh cd", 5) == ["ab", "abcde", "fgh", "cd"]


@given(text=st.text("ab1.第 ", max_size=60), width=st.integers(4, 30))
def test_no_line_is_wider_and_nothing_is_lost(text: str, width: int) -> None:
    lines = wrapped(text, width, "", "  ")
    assert max(map(columns, lines)) <= width
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_a_piece_is_never_wider_than_asked() -> None:
    assert pieces("第一軸", 4) == ["第一", "軸"]
    assert pieces("", 4) == [""]


def test_blanks_fill_a_text_up_on_either_side() -> None:
    assert padded("軸", 4) == "軸  "
    assert padded("12", 4, right=True) == "  12"


@pytest.mark.parametrize(
    ("names", "said"),
    [
        ([], ""),
        (["M1"], "M1"),
        (["M1", "M2"], "M1 and M2"),
        (["M1", "M2", "M3"], "M1, M2 and M3"),
        ([f"M{n}" for n in range(1, 10)], "M1, M2, M3, M4, M5, M6 and 3 more"),
    ],
)
def test_names_in_a_row(names: list[str], said: str) -> None:
    assert listed(names) == said
