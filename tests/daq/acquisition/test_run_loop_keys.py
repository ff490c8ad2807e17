"""Keys with words of their own: each does what the typed word would do at that moment, and where
they can answer either way nobody needs a keyboard.
"""

from pathlib import Path

import pytest

from daq.acquisition.check_run import CheckRun
from daq.acquisition.inputs import (
    Item,
    KeyboardGone,
    KeyRefused,
    KeyWord,
    SendPressed,
    TakingMode,
    is_attended,
)
from daq.acquisition.run_loop import RunLoop
from daq.board.board import LinkShown
from daq.record.events import Dropped, Kept, Voided
from daq.storage.ledger import scan
from drivers.gauge.asking import Asking
from tests.daq.acquisition.played import Exhausted, HandClock, PlayedInputs
from tests.daq.acquisition.test_run_loop import GOOD, played_session, value, wanted

ANSWERS = TakingMode(answers=True)


def stored(folder: Path) -> list[object]:
    return [entry.event for entry in scan(folder / "s").entries]


def test_keep_drop_and_back_do_what_the_words_do(tmp_path: Path) -> None:
    coming: list[Item | None] = [
        *GOOD[:2],
        value("61.000"),
        KeyWord("drop"),
        value("61.000"),
        KeyWord("keep"),
        KeyWord("back"),
    ]
    owner, watcher, _ = played_session(tmp_path, *coming)
    assert watcher.refusals == []
    said = [each for each in stored(tmp_path) if isinstance(each, Dropped | Kept | Voided)]
    assert [type(each) for each in said] == [Dropped, Kept, Voided]
    assert isinstance(said[0], Dropped)
    assert (said[0].why, said[0].by) == ("operator", "send key")
    assert not owner.state.standing


def test_a_word_that_means_nothing_now_is_refused_in_words(tmp_path: Path) -> None:
    _, watcher, _ = played_session(tmp_path, *map(KeyWord, ("keep", "back")))
    assert watcher.refusals == [
        "no reading is in question, so there is nothing to keep or drop",
        "this check has no reading yet to take back",
    ]


def test_a_key_that_sends_does_nothing_for_a_gauge_with_a_button_of_its_own(
    tmp_path: Path,
) -> None:
    owner, watcher, inputs = played_session(tmp_path, SendPressed())
    assert inputs.asked == 0
    assert watcher.refusals == ["this gauge is not asked: press its own send button"]
    assert owner.state.check is None


def test_a_key_without_a_word_is_told_once_a_second_at_most(tmp_path: Path) -> None:
    """Presses 0.4 s apart: the first, and the fourth 1.2 s after it."""
    refused = KeyRefused("A (04) means nothing here")
    _, watcher, _ = played_session(tmp_path, *[refused] * 5, every_s=0.4)
    assert watcher.refusals == [refused.words] * 2


def test_with_keys_that_answer_a_reading_in_question_waits_without_a_keyboard(
    tmp_path: Path,
) -> None:
    coming: list[Item | None] = [*GOOD[:2], KeyboardGone(), value("61.000"), KeyWord("keep")]
    owner, _, _ = played_session(tmp_path, *coming, mode=ANSWERS)
    assert len(owner.state.standing) == 1


def test_with_keys_that_answer_a_failed_check_does_not_end_it(tmp_path: Path) -> None:
    coming: list[Item | None] = [KeyboardGone(), *map(value, ("59.960", "59.960")), *GOOD]
    owner, _, _ = played_session(tmp_path, *coming, mode=ANSWERS)
    assert [each.event.passed for each in owner.state.judged] == [False, True, True]
    assert owner.board.verdict == "accepted"


def test_without_such_keys_the_end_of_the_keyboard_drops_it_and_ends_a_failed_check(
    tmp_path: Path,
) -> None:
    gone: list[Item | None] = [KeyboardGone(), *map(value, ("59.960", "59.960"))]
    owner, _, _ = played_session(tmp_path, *gone)
    assert owner.board.verdict == "rejected"


@pytest.mark.parametrize("has_keyboard", [True, False])
def test_a_run_begun_without_a_keyboard_is_attended_by_the_same_keys(
    tmp_path: Path, has_keyboard: bool
) -> None:
    attended = is_attended(ANSWERS, has_keyboard=has_keyboard)
    coming: list[Item | None] = [*GOOD[:2], value("61.000")]
    owner, _, _ = played_session(tmp_path, *coming, mode=ANSWERS, is_attended=attended)
    assert owner.state.held is not None


def test_a_key_answers_what_a_press_here_could_not(tmp_path: Path) -> None:
    mode = TakingMode(asking=Asking())
    coming: list[Item | None] = [SendPressed(), value("61.000", "late"), SendPressed()]
    owner, watcher, _ = played_session(tmp_path, *coming, KeyWord("drop"), mode=mode)
    assert watcher.refusals == ["a reading is in question: type keep or drop first"]
    assert owner.state.held is None


def test_in_a_check_outside_any_session_back_works_and_keep_and_drop_are_refused_in_words() -> None:
    clock, said = HandClock(), list[str]()
    owner = CheckRun(wanted(), LinkShown("mic", "usb-1", "/dev/ttyUSB0"), clock, said.append)
    coming: list[Item] = [value("59.970"), *map(KeyWord, ("keep", "drop", "back"))]
    inputs = PlayedInputs(clock, [(1.0, item) for item in coming])
    with pytest.raises(Exhausted):
        RunLoop(inputs, owner, clock, ANSWERS, "text").run()
    assert said == [
        "1/3  59.970 mm  error 0.000 mm",
        *["Not done: the words here are back and stop."] * 2,
        "The last reading is taken back.",
    ]
    assert owner.readings == ()
