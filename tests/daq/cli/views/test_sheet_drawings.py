"""What of a session is drawn on its sheet."""

from daq.board.shown_lengths import ShownIn
from daq.cli.views.ended import ended
from daq.cli.views.sheet_drawings import drawings_of, rows_of, state_words
from daq.export.basis import Basis
from daq.export.rows import reading_rows
from daq.storage.replay import load_state
from tests.daq.cli.views.test_sheet import GOLDEN, state_of


def test_a_place_is_drawn_at_what_the_table_of_readings_has_for_it() -> None:
    for folder in GOLDEN:
        state, _ = load_state(folder)
        read = reading_rows(Basis(state, "accepted"))
        names = ("journal", "station", "angle_deg", "diameter_20c_mm", "diameter_mm")
        stored = {
            (journal, station, angle): at_20c or as_read
            for journal, station, angle, at_20c, as_read in zip(
                *map(read.column, names), strict=True
            )
        }
        drawn = {
            (row.result.journal, place.station, str(place.angle_deg)): place.estimate_mm
            for row in rows_of(ended(state))
            for place in row.places
            if place.estimate_mm
        }
        assert drawn == stored
        assert len(drawn) == 5


def test_what_no_check_has_proven_is_not_drawn_once_a_session_is_over() -> None:
    for name in ("rejected", "abandoned"):
        rows = rows_of(ended(state_of(name)))
        assert {state_words(row) for row in rows} == {"not proven"}
        assert drawings_of(ended(state_of(name))).around == ()
    assert len(drawings_of(ended(state_of("open"))).around) == 2


def test_the_words_below_the_crank_are_those_of_the_table() -> None:
    drawn = drawings_of(ended(state_of("worn")))
    assert ">BELOW</text>" in drawn.crank
    assert "under, not" not in drawn.crank
    assert "A sketch in the order" not in drawn.crank  # the sheet says it in its own size


def test_diameters_are_drawn_in_the_first_unit_asked_for() -> None:
    inch = drawings_of(ended(state_of("worn"), ShownIn.INCH))
    assert " in a ring</text>" in inch.around[0]
    assert " mm a ring</text>" in drawings_of(ended(state_of("worn"))).around[0]
