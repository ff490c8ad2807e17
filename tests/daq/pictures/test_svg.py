"""The words that drawings are made of: readable without colour, harmless, bounded."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.pictures.lettering import MOST_TEXT
from daq.pictures.svg import PAINTS, Own, hatch, number, picture, placed, size_of, text
from tests.daq.pictures.drawing_words import is_only_shapes_and_words, tree, words


def luminance(paint: str) -> float:
    """Source: WCAG 2.2, relative luminance."""
    parts = [int(PAINTS[paint][at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("ground", ["paper", "metal"])
@pytest.mark.parametrize("paint", ["ink", "quiet", "bad", "here"])
def test_text_has_the_contrast_that_everybody_needs(paint: str, ground: str) -> None:
    # Source: WCAG 2.2, 1.4.3: 4.5 to 1 at least; PAINTS promises 6 to 1.
    assert (luminance(ground) + 0.05) / (luminance(paint) + 0.05) >= 6


def test_coordinates_have_a_tenth_and_no_zeros_behind_it() -> None:
    assert [number(value) for value in (3.0, 2.25, -0.04, 0.05, 10)] == [
        "3",
        "2.2",
        "0",
        "0.1",
        "10",
    ]


def test_slanting_lines_fill_a_rectangle_and_stay_in_it() -> None:
    # In a square of 10 with a step of 10 there are two, each 5 from its corner: from the left
    # edge's middle to the top edge's, and from the bottom edge's middle to the right edge's.
    assert hatch(0, 0, 10, 10, 10) == "M0 5L5 0M5 10L10 5"
    assert hatch(0, 0, 10, 10, 10, is_rising=False) == "M0 5L5 10M5 0L10 5"
    assert hatch(100, 20, 10, 10, 10) == "M100 25L105 20M105 30L110 25"


def test_text_of_people_stands_in_its_own_direction_and_the_rest_does_not() -> None:
    made = text(1, 2, "here: ", Own("שלום"), " 45°")
    assert 'here: <tspan unicode-bidi="plaintext">שלום</tspan> 45°' in made


@given(st.text(max_size=40), st.text(max_size=40))
def test_whatever_a_text_says_the_drawing_is_xml(one: str, other: str) -> None:
    made = picture(100, 50, one, other, [text(1, 20, Own(one), other)], "pic-x")
    assert is_only_shapes_and_words(made)


def test_a_text_of_64_kib_is_cut() -> None:
    made = picture(100, 50, "x" * 65536, "y" * 65536, [text(1, 20, Own("z" * 65536))], "pic-x")
    assert len(made) < 6000
    assert len(words(made)[0]) == MOST_TEXT


def test_control_characters_and_turned_directions_are_shown_as_what_they_are() -> None:
    made = picture(100, 50, "", "", [text(1, 20, "a\x1b\u202eb\ud800c")], "pic-x")
    assert words(made) == ["a\\x1b\\u202eb\\ud800c"]


def test_a_drawing_stands_in_another_one_at_its_place_and_in_its_size() -> None:
    inner = picture(100, 50, "in", "", [], "pic-x")
    assert size_of(inner) == (100, 50)
    outer = tree(picture(300, 300, "out", "", [placed(inner, 10, 20, 200, 100)], "pic-y"))
    (found,) = [one for one in outer if one.get("viewBox")]
    assert [found.get(key) for key in ("x", "y", "width", "height", "viewBox", "class")] == [
        *("10", "20", "200", "100", "0 0 100 50", "pic pic-x")
    ]
