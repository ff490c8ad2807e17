"""Which drawings stand on the page."""

import re
from pathlib import Path

import pytest
from msgspec.structs import replace

from daq.board.board import LastValue
from daq.page.server.drawings import DRAWINGS, HALVES, angle, drawings, half, here
from daq.pictures.layout import CrankLayout
from tests.daq.page.boards import Shown


@pytest.fixture
def shown(tmp_path: Path) -> Shown:
    return Shown(tmp_path / "s")


def test_every_drawing_is_there_from_the_beginning_so_that_nothing_jumps(shown: Shown) -> None:
    for board in (shown.board, shown.press("59.970", "59.971"), shown.press("59.980")):
        found = drawings(shown.layout, board)
        assert set(found) == set(DRAWINGS)
        assert all(svg.startswith("<svg") for svg in found.values())


def test_the_angle_is_that_which_is_asked_for_or_held(shown: Shown) -> None:
    assert angle(shown.board) is None
    asked = shown.press("59.970", "59.971", "59.980")
    assert angle(asked) == 90
    held = LastValue("58.1", "mm", "held", "M1/rear/0", counts=False)
    assert angle(replace(asked, place=None, last=held)) == 0
    assert angle(replace(asked, place=None, last=replace(held, place=""))) is None


def test_the_circle_is_of_the_journal_that_is_measured(shown: Shown) -> None:
    asked = shown.press("59.970", "59.971")
    row = here(asked)
    assert row is not None
    assert row.result.journal == "M1"
    unasked = tuple(replace(each, is_asked=False) for each in asked.rows)
    last = LastValue("50.790", "mm", "part", "R1/middle/0", counts=True)
    row = here(replace(asked, rows=unasked, last=last))
    assert row is not None
    assert row.result.journal == "R1"
    assert here(replace(asked, rows=())) is None


def test_without_a_part_there_is_nothing_to_draw(shown: Shown) -> None:
    nothing = dict.fromkeys(DRAWINGS, "")
    assert drawings(None, shown.board) == nothing
    assert drawings(CrankLayout(()), replace(shown.board, rows=())) == nothing


def test_a_long_route_is_drawn_broader(shown: Shown) -> None:
    journal = shown.layout.journals[0]
    many = CrankLayout(tuple(replace(journal, name=f"M{number}") for number in range(60)))
    assert half(shown.layout) == HALVES[0] < half(many)


def test_a_drawing_for_a_phone_is_narrow(shown: Shown) -> None:
    found = drawings(shown.layout, shown.board)
    wide = {name: re.findall(r'viewBox="0 0 (\d+)', svg) for name, svg in found.items() if svg}
    assert int(wide["side-narrow"][0]) <= 360
    assert int(wide["map-narrow"][0]) <= 400
