"""The code of a record."""

import re

import segno

from daq.sheet.code import code_of


def test_every_dark_square_is_drawn_and_nothing_else() -> None:
    text = f"20261125T080000Z-test {'ab' * 32}"
    drawn: set[tuple[int, int]] = set()
    for x, y, wide in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\d+z", code_of(text)):
        drawn |= {(int(x) + step, int(y)) for step in range(int(wide))}
    matrix = segno.make_qr(text, error="m").matrix
    dark = {(x + 4, y + 4) for y, row in enumerate(matrix) for x, cell in enumerate(row) if cell}
    assert drawn == dark


def test_what_it_holds_is_read_aloud_instead() -> None:
    assert "<desc>kqwe 12</desc>" in code_of("kqwe 12")
