"""The buttons of the page."""

from pathlib import Path

import pytest
from msgspec.structs import replace

from daq.board.board import Word
from daq.board.of_check import WORDS as CHECK_WORDS
from daq.page.server.sheets import HINTS, LABELS, READY, keys, sheets
from daq.rules.commands import MOST_TEXT, WORDS
from tests.daq.page.boards import Shown


@pytest.fixture
def shown(tmp_path: Path) -> Shown:
    shown = Shown(tmp_path / "s")
    shown.press("59.970", "59.971", "59.980")
    return shown


def test_every_word_has_a_label_and_a_hint() -> None:
    assert set(LABELS) == set(HINTS) == {*WORDS, "send"}


def test_there_is_a_button_for_each_word_that_is_allowed_and_no_other(shown: Shown) -> None:
    allowed = {each.word for each in shown.board.words}
    assert {key.word for key in keys(shown.board)} == allowed
    assert {key.word for key in keys(replace(shown.board, can_send=True))} == {*allowed, "send"}
    assert keys(replace(shown.board, words=())) == ()


def test_words_that_something_must_follow_open_a_form_with_reasons(shown: Shown) -> None:
    found = sheets(shown.board)
    assert set(found) == {"skip", "note", "retake", "stop", "abandon"}
    assert {key.word for key in keys(shown.board) if key.opens} == set(found)
    for word in ("skip", "note", "stop"):
        assert found[word].ready == READY[word]
        assert all(0 < len(text) <= MOST_TEXT for text in found[word].ready)


def test_retake_offers_the_places_that_are_measured(shown: Shown) -> None:
    assert sheets(shown.board)["retake"].places == (("M1/front/0", "M1 front 0°: 59.980 mm"),)


def test_where_no_place_is_measured_there_is_no_retake(tmp_path: Path) -> None:
    board = Shown(tmp_path / "s").press("59.970", "59.971")
    assert any(each.word == "retake" for each in board.words)
    assert not any(key.word == "retake" for key in keys(board))


def test_what_cannot_be_undone_is_pressed_twice(shown: Shown) -> None:
    sure = {key.word for key in keys(shown.board) if key.sure}
    assert sure == {"later", "zeroed"}
    assert {word for word, sheet in sheets(shown.board).items() if sheet.sure} == {
        "stop",
        "abandon",
    }


def test_what_would_be_lost_is_said_first(shown: Shown) -> None:
    board = replace(shown.board, stop_rejects="no check passed", abandon_loses="1 reading")
    found = sheets(board)
    assert found["stop"].sure == "rejects the session: no check passed"
    assert found["abandon"].sure == "closes without a check: 1 reading"


def test_a_check_outside_any_session_may_be_stopped(shown: Shown) -> None:
    board = replace(shown.board, session="", rows=(), words=CHECK_WORDS)
    assert [(key.word, key.hint) for key in keys(board)] == [
        ("back", "take back the last reading"),
        ("stop", "end without a result"),
    ]
    assert sheets(board)["stop"].sure == "ends the check without a result"


def test_keep_and_drop_come_first(shown: Shown) -> None:
    words = tuple(Word(word, *WORDS[word]) for word in WORDS)
    assert [key.word for key in keys(replace(shown.board, words=words))][:3] == [
        *("keep", "drop", "back"),
    ]
