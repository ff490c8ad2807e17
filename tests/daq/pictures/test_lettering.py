"""Text cleaned, measured and cut for a drawing."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daq.pictures.lettering import MOST_TEXT, clean, fitted, text_width, wrapped


def test_a_text_is_cut_to_its_room_and_says_so() -> None:
    assert fitted("M1", 100) == "M1"
    cut = fitted("the journal nearest the flywheel", 80)
    assert cut.endswith("…")
    assert text_width(cut) <= 80
    assert fitted("wide", 1) == "…"


def test_words_are_broken_into_so_many_lines_and_the_last_says_that_it_is_cut() -> None:
    assert wrapped("not proven yet", 1000, 12, 3) == ["not proven yet"]
    assert wrapped("not proven yet", text_width("not proven") + 1, 12, 3) == ["not proven", "yet"]
    assert wrapped("a b c d", text_width("a b"), 12, 1)[0].endswith("…")


@pytest.mark.parametrize(
    ("words", "plain", "bold"),
    [
        # Widths in a size of 100 as Chromium draws them in DejaVu Sans, a wide font.
        ("not measured", 695.2, 781.5),
        ("OUT OF FORM, not proven yet", 1503.3, 1692.0),
        ("M1", 149.9, 169.1),
        ("59.9580 mm", 640.1, 698.7),
        ("135°", 240.9, 258.8),
        ("WWWW MMMM", 772.4, 874.1),
        ("illi till", 265.5, 322.6),
        ("0123456789", 636.2, 695.8),
        ("1 of 8, 1 left out; again: 2", 1275.5, 1445.3),
    ],
)
def test_a_wide_font_draws_no_wider_than_is_reckoned(words: str, plain: float, bold: float) -> None:
    assert text_width(words, 100) >= plain
    assert text_width(words, 100, is_bold=True) >= bold


@settings(max_examples=40)
@given(st.text(max_size=300), st.floats(10, 400), st.booleans())
def test_what_is_fitted_fits_or_is_an_ellipsis(words: str, width: float, is_bold: bool) -> None:
    cut = fitted(words, width, is_bold=is_bold)
    assert cut == "…" or text_width(cut, is_bold=is_bold) <= width


@settings(max_examples=40)
@given(st.text(max_size=300))
def test_a_text_is_clean_once(words: str) -> None:
    once = clean(words)
    assert once.isprintable()
    assert len(once) <= MOST_TEXT
    assert clean(once) == once
