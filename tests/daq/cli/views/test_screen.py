"""The live screen as text at the sizes of terminals, against pictures that were looked at.

`python -m tests.daq.cli.views.make_screens` writes them anew.
"""

import re
from decimal import Decimal
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from daq.board.shown_lengths import ShownIn
from daq.cli.views.pieces import width
from daq.cli.views.screen import Beside, screen_lines, words_line
from tests.daq.cli.views.shown_sessions import MOMENTS, PICTURES, SIZES, picture, texts

SHOWN = [name for name in MOMENTS if name != "250 journals"]


def text_of(name: str, columns: int, rows: int) -> str:
    """The screen as one text, without its breaks."""
    return " ".join(" ".join(texts(name, columns, rows)).split())


@pytest.mark.parametrize("name", MOMENTS)
def test_the_screen_is_as_its_picture(name: str) -> None:
    wanted = (PICTURES / f"{name}.txt").read_text(encoding="utf-8")
    assert "\n".join(picture(name, *size) for size in SIZES) == wanted


def test_there_is_no_picture_of_nothing() -> None:
    assert {file.stem for file in PICTURES.glob("*.txt")} == set(MOMENTS)


@pytest.mark.parametrize("name", MOMENTS)
@settings(max_examples=20)
@given(columns=st.integers(1, 12) | st.integers(1, 210), rows=st.integers(1, 70))
def test_at_any_size_the_screen_fits_and_no_number_is_cut(
    name: str, columns: int, rows: int
) -> None:
    board, said = MOMENTS[name]()
    lines = screen_lines(board, said, columns, rows)
    assert len(lines) <= rows
    shown = ["".join(piece.text for piece in line) for line in lines]
    assert [text for text in shown if width(text) > columns] == []
    found = re.findall(NUMBER, "\n".join(shown))
    assert {number for number in found if "." in number} <= numbers_of(name)


NUMBER = r"[+-]?\d[\d.]*\d|\d"


@cache
def numbers_of(name: str) -> set[str]:
    """All numbers that there are to be shown at a moment."""
    board, said = MOMENTS[name]()
    results = [row.result for row in board.rows]
    lengths = [
        f"{Decimal(length):+.4f} {Decimal(length):.4f}"
        for result in results
        for length in (
            result.smallest_mm,
            result.margin_to_low_mm,
            result.out_of_round_mm,
            result.taper_mm,
        )
        if length
    ]
    return set(re.findall(NUMBER, f"{board} {said} {lengths}"))


@pytest.mark.parametrize("name", ["normal", "below", "measured again", "double press"])
@pytest.mark.parametrize(("columns", "rows"), SIZES)
def test_at_each_size_place_value_and_words_are_there(name: str, columns: int, rows: int) -> None:
    board, _ = MOMENTS[name]()
    text = text_of(name, columns, rows)
    assert " ".join(board.asked.headline.split()) in text
    assert "type: " in text
    assert board.last is not None
    assert "last, " in text or "held, " in text


@pytest.mark.parametrize(("columns", "rows"), SIZES[1:])
@pytest.mark.parametrize("name", ["normal", "below", "cable back", "failed after-check"])
def test_from_80_by_24_on_all_twelve_journals_are_there(name: str, columns: int, rows: int) -> None:
    text = text_of(name, columns, rows)
    board, _ = MOMENTS[name]()
    assert len(board.rows) == 12
    assert all(re.search(rf"\b{row.result.journal} +\d/4", text) for row in board.rows)
    assert "more" not in text.replace("more warning", "")


def test_on_a_small_screen_the_list_says_how_many_more_there_are() -> None:
    # Two of twelve fit below the two warnings; of the others five mains and five rods are left.
    text = text_of("failed after-check", 60, 20)
    assert "and 10 more: 5 to take again, 5 to come" in text


def test_of_250_journals_the_nearest_and_the_bad_are_shown() -> None:
    text = text_of("250 journals", 80, 24)
    assert "M59" in text
    assert "> M60" in text
    assert re.search(r"M7 .*BELOW", text)
    assert not re.search(r"M2 +4/4", text)
    assert re.search(r"and \d+ more: \d+ measured, \d+ to come", text)


def test_a_question_is_said_in_words() -> None:
    text = text_of("double press", 80, 24)
    assert "QUESTION Held: 59.981 mm" in text
    assert "pressed twice? Type keep or drop" in text
    assert "held, would be M2 front 90°" in text


def test_what_must_be_taken_again_is_said_at_the_row_and_above() -> None:
    text = text_of("cable back", 80, 24)
    assert "Cable back. 12 readings must be taken again, start at M3 front 0°." in text
    assert re.search(r"M3 +0/4 +again: 4", text)
    assert "8 of 48 places, 8 proven" in text
    assert re.search(r"M1 +4/4 .*within", text)


def test_rows_that_no_check_has_proven_say_so_in_words() -> None:
    assert "within, not proven yet" in text_of("normal", 80, 24)


@pytest.mark.parametrize("columns", [1, 5, 20, 40, 60, 80, 100, 200])
@pytest.mark.parametrize("name", ["normal", "double press", "failed before-check"])
def test_the_words_stand_on_one_line_the_most_wanted_first(name: str, columns: int) -> None:
    board, _ = MOMENTS[name]()
    text = words_line(board, columns)
    assert len(text) <= columns
    words = text.removeprefix("type:").split("  ")[1:]
    names = [word.split()[0] for word in words]
    assert names == [name for name in names if name in {each.word for each in board.words}]
    if columns >= 100:
        assert len(names) == len(board.words)


def test_where_there_is_no_button_the_prompt_does_not_name_one() -> None:
    text = text_of("typed", 80, 24)
    assert "type the value, then Enter" in text
    assert "press send" not in text


def test_a_stream_a_question_and_the_input_line_are_shown() -> None:
    board, _ = MOMENTS["normal"]()
    said = Beside(news=["some news"], typed="ba", streamed="59.9 mm", question="sure?")
    lines = ["".join(piece.text for piece in line) for line in screen_lines(board, said, 80, 24)]
    assert "the gauge shows 59.9 mm" in lines
    assert "? sure?" in lines
    assert lines[-2].startswith("> ba")
    assert "some news" in lines


def test_of_a_long_input_line_the_end_is_shown() -> None:
    board, _ = MOMENTS["normal"]()
    lines = screen_lines(board, Beside(typed="note " + "x" * 100 + " end"), 60, 20)
    text = "".join(piece.text for piece in lines[-2])
    assert text.endswith(" end▏")
    assert width(text) <= 60


def test_notes_from_the_start_are_shown_where_there_is_room() -> None:
    board, _ = MOMENTS["study"]()
    note = "the permitted error of the gauge is not known"
    for rows, is_there in ((60, True), (20, False)):
        lines = screen_lines(board, Beside(notes=[note]), 100, rows)
        assert (note in ["".join(piece.text for piece in line) for line in lines]) is is_there


@pytest.mark.parametrize(
    ("show", "smallest", "to_low"),
    [
        # 59.980 mm is 2.361417 in; its low limit, 59.970 mm, is 2.361024 in, shown up as 2.36103.
        (None, "59.9800", "+0.0100"),
        (ShownIn.MM, "59.9800", "+0.0100"),
        (ShownIn.INCH, "2.36142", "+0.00039"),
        (ShownIn.BOTH, "59.9800 = 2.36142", "+0.0100 = +0.00039"),
    ],
)
def test_the_journals_are_read_in_the_units_that_were_asked_for(
    show: ShownIn | None, smallest: str, to_low: str
) -> None:
    board, said = MOMENTS["normal"]()
    lines = screen_lines(board, replace(said, show=show), 200, 60)
    text = "\n".join("".join(piece.text for piece in line) for line in lines)
    assert re.search(rf" {re.escape(smallest)}  +{re.escape(to_low)}  ", text)
