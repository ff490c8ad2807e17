"""How large a text may be."""

from pathlib import Path

from daq.page.server.files import file_named
from daq.page.server.fits import FITS, em_tenths, fit, widest_place
from tests.daq.page.boards import Shown


def test_a_longer_text_is_drawn_smaller() -> None:
    assert fit("M1 front 0°") < fit("M1 middle 135°") < fit("Crankpin 14 middle 135°")


def test_the_widest_of_several_says_the_size() -> None:
    assert fit("M1", "M1 middle 135°") == fit("M1 middle 135°")


def test_wide_letters_take_more_room_than_narrow_ones() -> None:
    assert em_tenths("ill") < em_tenths("abc") < em_tenths("ABC") < em_tenths("曲軸径")


def test_however_long_a_text_is_there_is_a_size() -> None:
    assert fit("x" * 65_536) == FITS[-1]
    assert fit("") == FITS[0]


def test_every_size_stands_in_the_style_sheet() -> None:
    file = file_named("page.css")
    assert file is not None
    css = file.content.decode()
    assert all(f".e{wide} {{ --e: {wide}; }}" in css for wide in FITS)


def test_all_places_of_a_run_have_one_size(tmp_path: Path) -> None:
    assert widest_place(Shown(tmp_path / "s").layout) == "R1 middle 90°"
    assert widest_place(None) == ""
