"""The crank of a session that is over."""

from daq.pictures.crank_side import SKETCH, crank_side
from daq.pictures.layout import CrankLayout
from daq.pictures.svg import size_of
from tests.daq.pictures.test_around_small import drawn


def test_words_given_stand_there_instead_and_no_room_is_left_for_an_arrow() -> None:
    journals, rows = drawn({"M1": "59.982", "M2": "59.961"})
    layout = CrankLayout(tuple(journals))
    usual = crank_side(layout, rows)
    over = crank_side(layout, rows, has_foot=False, final={"M1": "fine", "M2": "not proven"})
    assert ">fine</text>" in over
    assert "M2: not proven" in over
    assert "BELOW" not in over
    assert "A sketch" not in over
    assert SKETCH[:20] in usual
    assert size_of(over)[1] < size_of(usual)[1] - 44
