"""Letters and digits made of half blocks."""

import pytest

from daq.cli.views.large import is_drawable, large, large_lines, rows_of, width_of

EVERY = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789°-+/.,:?'_"


def test_each_character_looks_unlike_all_others() -> None:
    assert len({tuple(large(char)) for char in EVERY}) == len(EVERY)


@pytest.mark.parametrize(("scale", "rows"), [(1, 3), (2, 5), (3, 8)])
def test_a_text_stands_on_lines_of_equal_length_three_or_more(scale: int, rows: int) -> None:
    lines = large("M1 front 45°", scale)
    assert len(lines) == rows == rows_of(scale)
    assert {len(line) for line in lines} == {width_of("M1 front 45°", scale)}


def test_small_letters_are_shown_as_capitals() -> None:
    assert large("front") == large("FRONT")


def test_an_eight_is_two_holes_in_a_frame() -> None:
    # Five rows of dots, ###, #.#, ###, #.#, ###, two rows a line.
    assert large("8") == ["█▀█", "█▀█", "▀▀▀"]


@pytest.mark.parametrize("text", ["Zapfen 1 *", "Ä1", "軸 1", "M1\n"])
def test_what_has_no_drawing_is_not_drawn(text: str) -> None:
    assert not is_drawable(text)
    assert large_lines(text, 200) == []


def test_a_text_too_wide_is_broken_between_its_words_and_never_within_one() -> None:
    wide = width_of("M10 middle")
    assert len(large_lines("M10 middle 135°", 200)) == 3
    assert large_lines("M10 middle 135°", wide) == [*large("M10 middle"), *large("135°")]
    assert large_lines("M10 middle 135°", wide, most=1) == []
    assert large_lines("M10 middle 135°", width_of("middle") - 1) == []
