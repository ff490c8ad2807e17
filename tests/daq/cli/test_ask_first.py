"""What is asked once before it is done, and how the answer is heard."""

from collections.abc import Callable

import msgspec
import pytest

from daq.acquisition.inputs import Item, KeyboardGone, Typed
from daq.board.board import Asked, Board, LinkShown
from daq.cli.ask_first import AskFirst, asked_first, question_of

SAFE = Board(
    step=7,
    made_at="",
    session="s",
    job="",
    part="",
    operator="",
    status="measuring",
    asked=Asked("M1", ""),
    link=LinkShown("mic", "usb-1", "/dev/ttyUSB0"),
)
REJECTS = msgspec.structs.replace(
    SAFE, stop_rejects="12 readings are not proven", abandon_loses="3 readings would be lost"
)
QUESTION = (
    "stop now rejects the session: 12 readings are not proven. Type stop again to do it, or go on "
    "measuring."
)


def test_stop_is_asked_about_where_it_would_reject() -> None:
    assert question_of("stop the shift ends", REJECTS) == QUESTION
    assert question_of("STOP the shift ends", REJECTS) == QUESTION
    assert question_of("stop the shift ends", SAFE) == ""
    assert question_of("stop", REJECTS) == "", "it lacks its reason, and is refused for that"
    assert question_of("abandon no time", REJECTS).startswith("abandon closes the session")
    assert question_of("back", REJECTS) == ""


@pytest.mark.parametrize("again", ["stop", "Stop", "stop the shift ends"])
def test_typed_again_it_is_done_with_its_reason(again: str) -> None:
    first = AskFirst()
    assert first.hear("stop the shift ends", REJECTS) == (None, QUESTION)
    line, question = first.hear(again, REJECTS)
    assert line is not None
    assert (line.lower(), question) == ("stop the shift ends", "")


def test_anything_else_takes_the_question_away() -> None:
    first = AskFirst()
    first.hear("stop the shift ends", REJECTS)
    assert first.hear("", REJECTS) == ("", "")  # a press
    assert first.hear("stop", REJECTS) == ("stop", "")  # refused for want of a reason
    assert first.hear("stop the shift ends", REJECTS) == (None, QUESTION)
    assert first.hear("abandon no time", REJECTS)[0] is None, "another word, another question"


def test_once_the_board_has_moved_on_it_is_asked_again() -> None:
    first = AskFirst()
    first.hear("stop the shift ends", REJECTS)
    moved = msgspec.structs.replace(REJECTS, step=8)
    assert first.hear("stop the shift ends", moved) == (None, QUESTION)


class Display:
    """A display that remembers what it asks."""

    def __init__(self, board: Board) -> None:
        self.board: Board | None = board
        self.asked: list[str] = []

    def ask(self, question: str) -> None:
        self.asked.append(question)


def test_lines_go_on_in_order_but_for_the_one_that_is_asked_about() -> None:
    items: list[Item] = [
        Typed("note x"),
        Typed("stop the shift ends"),
        Typed("back"),
        Typed("stop the shift ends"),
        Typed("stop"),
        KeyboardGone(),
    ]

    def keyboard(put: Callable[[Item], None]) -> None:
        for item in items:
            put(item)

    display, done = Display(REJECTS), list[Item]()
    asked_first(keyboard, display)(done.append)
    assert done == [
        Typed("note x"),
        Typed("back"),
        Typed("stop the shift ends"),
        KeyboardGone(),
    ]
    assert display.asked == [QUESTION, "", QUESTION, ""]
