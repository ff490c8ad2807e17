"""The page's addresses on a terminal: codes that a reader of another make reads, where they fit."""

import pytest

from daq.cli.views.page_links import PageLinks, code_rows, link_lines
from daq.cli.views.pieces import width

BOARD = "http://192.168.100.200:65535/abcdefghijklmnopqrstuv/"
PRESS = "http://192.168.100.200:65535/ABCDEFGHIJKLMNOPQRSTUV/"


def texts(columns: int, rows: int) -> list[str]:
    lines = link_lines(PageLinks(BOARD, PRESS), columns, rows)
    return ["".join(piece.text for piece in line) for line in lines]


def test_two_codes_fit_beside_each_other_on_a_usual_terminal_below_the_prompt() -> None:
    lines = texts(80, 19)
    assert lines[0].split() == ["look", "at", "look", "at", "and", "press"]
    assert len(lines) == 18
    assert max(map(width, lines)) <= 80


@pytest.mark.parametrize(("columns", "rows"), [(80, 10), (30, 40), (20, 3), (60, 1)])
def test_where_no_code_fits_the_addresses_stand_as_text_and_no_more_lines_than_there_are(
    columns: int, rows: int
) -> None:
    lines = texts(columns, rows)
    assert lines == ["To look at:", f"  {BOARD}", "To look at and press:", f"  {PRESS}"][:rows]


def test_a_narrow_terminal_shows_the_one_to_press() -> None:
    lines = texts(60, 30)
    assert lines[0] == "look at and press"
    assert lines[1 : 1 + len(code_rows(PRESS))] == code_rows(PRESS)
    assert f"  {BOARD}" in lines


def test_a_code_has_its_finders_where_the_standard_has_them() -> None:
    """Of any QR code the upper left square is seven dark ones, a ring and a core (ISO/IEC 18004,
    from memory); two rows to a line, and two light squares around.
    """
    rows = code_rows(BOARD)
    assert rows[0].strip() == ""
    assert [row[2:9] for row in rows[1:5]] == ["█▀▀▀▀▀█", "█ ███ █", "█ ▀▀▀ █", "▀▀▀▀▀▀▀"]


def test_links_that_no_phone_can_reach_have_no_code() -> None:
    here = link_lines(PageLinks(BOARD, PRESS, is_open=False), 100, 60)
    assert ["".join(piece.text for piece in line) for line in here] == [
        "To look at (a browser on this machine):",
        f"  {BOARD}",
        "To look at and press:",
        f"  {PRESS}",
    ]
