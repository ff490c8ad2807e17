"""Lines wrapped by words, a number never within."""

import io

import pytest
from rich.console import Console

from daq.cli.views.pieces import Drawn, Piece, line, padded, short_name, width, wrapped


def test_a_text_is_broken_between_its_words() -> None:
    assert wrapped("one two  three", 7) == ["one two", "three"]
    assert wrapped("", 7) == []


def test_of_too_many_lines_the_last_says_that_there_is_more() -> None:
    assert wrapped("one two three four", 7, 2) == ["one two", "three …"]
    assert wrapped("one two three", 7, 1) == ["one …"]
    assert wrapped("one two", 7, 1) == ["one two"]
    assert wrapped("one two", 7, 0) == []


def test_a_number_too_long_is_left_out_and_a_word_shortened() -> None:
    assert wrapped("59.98200 mm", 6) == ["… mm"]
    assert wrapped("crankshaft", 6) == ["crank…"]


def test_wide_characters_take_two_columns() -> None:
    assert width("軸1") == 3
    assert padded("軸", 4) == "軸  "
    assert short_name("軸軸軸", 5) == "軸軸…"
    assert wrapped("軸軸 軸", 5) == ["軸軸", "軸"]


@pytest.mark.parametrize(("columns", "shown"), [(9, "Camshaft"), (5, "Cams…"), (1, "…"), (0, "")])
def test_a_long_name_loses_its_end(columns: int, shown: str) -> None:
    assert short_name("Camshaft", columns) == shown


def test_markup_in_a_text_is_shown_not_obeyed() -> None:
    console = Console(width=40, file=io.StringIO(), color_system=None, legacy_windows=False)
    console.print(Drawn([line("[red]M1[/red]"), (Piece("a", "bold"), Piece("b"))]), end="")
    assert isinstance(console.file, io.StringIO)
    assert console.file.getvalue() == "[red]M1[/red]\nab\n"
