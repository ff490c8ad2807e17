"""How a journal stands, in words."""

import pytest

from daq.board.board import JournalRow, PlaceShown
from daq.board.row_words import places_in, stands, word_of
from daq.record.results import JournalResult


def row(
    verdict: str,
    measured: int,
    *,
    proven: int = 0,
    not_yet: int = 0,
    again: int = 0,
    skipped: int = 0,
) -> JournalRow:
    """A journal of four places."""
    result = JournalResult(
        journal="M1",
        group="",
        positions_planned=4,
        positions_measured=measured,
        low_limit_mm="59.97",
        verdict=verdict,
        size_verdict="",
        form_verdict="",
        decision_rule="",
    )
    states = ["skipped"] * skipped + ["to-come"] * (4 - skipped)
    places = tuple(PlaceShown("front", at, 1, state) for at, state in enumerate(states))
    return JournalRow(result, proven, not_yet, again, places=places)


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (row("incomplete", 0), "not measured"),
        (row("incomplete", 3, not_yet=3), "3 of 4; not proven yet"),
        (row("incomplete", 3, proven=3), "3 of 4; proven so far"),
        (row("incomplete", 3, proven=3, skipped=1), "3 of 4, 1 left out; proven so far"),
        (row("incomplete", 0, skipped=4), "left out"),
        (row("within", 4, not_yet=4), "within, not proven yet"),
        (row("within", 4, proven=4), "within"),
        (row("below", 4, proven=3, not_yet=1), "BELOW, not proven yet"),
        (row("out-of-form", 4, proven=4), "OUT OF FORM"),
        (row("undecided", 4, proven=4), "undecided"),
        (row("below", 2, proven=2), "2 of 4; BELOW"),
        # two of the four that stand no check can prove any more
        (row("within", 4, proven=2, again=2), "2 of 4; again: 2"),
        (row("incomplete", 4, again=4), "0 of 4; again: 4"),
    ],
)
def test_count_and_word_say_how_a_journal_stands(found: JournalRow, words: str) -> None:
    assert stands(found) == words


def test_a_short_word_is_for_narrow_lines() -> None:
    assert word_of(row("above", 4, not_yet=4), is_short=True) == "ABOVE, unproven"
    assert word_of(row("incomplete", 1, not_yet=1), is_short=True) == "unproven"
    assert stands(row("below", 2, not_yet=2), is_short=True) == "2 of 4; BELOW, unproven"


def test_what_must_be_measured_again_is_not_counted() -> None:
    assert places_in(row("within", 4, proven=1, again=3)) == 1
