"""The drawings of a part against those that were looked at, and what holds for each of them.

`python -m tests.daq.pictures.make_drawings` writes them anew.
"""

import pytest

from daq.pictures.svg import PAINTS
from tests.daq.pictures.drawing_words import (
    SVG,
    about,
    is_only_shapes_and_words,
    outside,
    overlapping,
    tree,
)
from tests.daq.pictures.drawn_sessions import DRAWINGS, MOMENTS


def test_each_moment_has_its_drawing_and_no_other_is_there() -> None:
    assert {path.stem for path in DRAWINGS.glob("*.svg")} == set(MOMENTS)


@pytest.mark.parametrize("name", MOMENTS)
def test_the_drawing_is_as_the_one_that_was_looked_at(name: str) -> None:
    assert MOMENTS[name]() == (DRAWINGS / f"{name}.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", MOMENTS)
def test_it_has_shapes_and_words_only_and_says_what_it_shows(name: str) -> None:
    made = MOMENTS[name]()
    assert is_only_shapes_and_words(made)
    root = tree(made)
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title") is not None
    assert about(made)


@pytest.mark.parametrize("name", MOMENTS)
def test_every_paint_has_its_class(name: str) -> None:
    """So that a page can recolour all of it without touching its attributes."""
    for one in tree(MOMENTS[name]()).iter():
        named = one.get("class", "").split()
        for key, letter in (("fill", "f"), ("stroke", "s")):
            value = one.get(key, "none")
            if value != "none":
                (paint,) = [paint for paint, code in PAINTS.items() if code == value]
                assert f"pic-{letter}-{paint}" in named


@pytest.mark.parametrize("name", [name for name in MOMENTS if name != "plan"])
def test_no_text_lies_on_another_or_over_the_edge(name: str) -> None:
    assert overlapping(MOMENTS[name]()) == []
    assert outside(MOMENTS[name]()) == []
