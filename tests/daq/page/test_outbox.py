"""What waits for the page's server: the newest board, and no sound or news of the others lost."""

from pathlib import Path

from msgspec.structs import replace

from daq.page.messages import PageOver, PageShown, PageTold, PressAnswer
from daq.page.outbox import MOST_CUES, MOST_NEWS, MOST_OTHERS, Outbox
from tests.daq.page.boards import Shown


def test_of_boards_that_were_not_sent_the_newest_stands_for_all(tmp_path: Path) -> None:
    board = Shown(tmp_path / "s").board
    outbox = Outbox()
    number = outbox.begin()
    first = replace(board, step=1, cue="kept", news=("one",))
    second = replace(board, step=2, cue="", news=())
    third = replace(board, step=3, cue="below", news=("three", "four"))
    for each in (first, second, third):
        outbox.show(each)
    assert outbox.take(number) == [PageShown(third, ("kept", "below"), ("one", "three", "four"))]
    outbox.show(second)
    assert outbox.take(number) == [PageShown(second)]


def test_what_is_kept_for_a_server_that_does_not_take_is_bounded(tmp_path: Path) -> None:
    board = replace(Shown(tmp_path / "s").board, cue="kept", news=("n",) * 3)
    outbox = Outbox()
    number = outbox.begin()
    for _ in range(1000):
        outbox.show(board)
        outbox.tell("t")
    (shown, *others) = outbox.take(number) or []
    assert shown == PageShown(board, ("kept",) * MOST_CUES, ("n",) * MOST_NEWS)
    assert len(others) == MOST_OTHERS


def test_answers_and_what_is_told_follow_the_board(tmp_path: Path) -> None:
    board = Shown(tmp_path / "s").board
    outbox = Outbox()
    number = outbox.begin()
    outbox.tell("Hint: look")
    outbox.show(board)
    outbox.answer(number, 4, "done", "")
    outbox.end(PageOver(None, ("All is well.",)))
    assert outbox.take(number) == [
        PageShown(board, (), board.news),
        PageTold("Hint: look"),
        PressAnswer(4, "done"),
        PageOver(None, ("All is well.",)),
    ]
    assert outbox.take(number) is None


def test_another_server_is_shown_the_last_board_and_hears_no_old_sound(tmp_path: Path) -> None:
    board = replace(Shown(tmp_path / "s").board, cue="kept", news=("one",))
    outbox = Outbox()
    first = outbox.begin()
    outbox.show(board)
    assert outbox.take(first) is not None
    second = outbox.begin()
    assert outbox.take(first) is None
    assert outbox.take(second) == [PageShown(board)]


def test_an_answer_to_a_press_of_another_server_goes_nowhere(tmp_path: Path) -> None:
    outbox = Outbox()
    first = outbox.begin()
    second = outbox.begin()
    outbox.answer(first, 1, "done", "")
    outbox.answer(second, 1, "refused", "no")
    assert outbox.take(second) == [PressAnswer(1, "refused", "no")]


def test_a_server_that_has_left_takes_nothing() -> None:
    outbox = Outbox()
    number = outbox.begin()
    outbox.leave(number)
    assert outbox.take(number) is None
