"""The board of a check outside any session."""

import msgspec
import pytest

from daq.board.board import Board, CheckAsked, LinkShown
from daq.board.of_check import check_board, proven_board
from daq.equipment.stacks.stack_file import assumed_stack
from daq.gauges.check_result import prove
from daq.gauges.check_rules import CheckWanted, StackReadings, take
from daq.lengths import parse_length
from daq.record.events import Temperatures
from drivers.reading import Reading
from tests.builders import SECOND_US, START_US, reading

LINK = LinkShown("mic", "usb-1", "/dev/ttyUSB0")
LIMIT = parse_length("0.002 mm")
WANTED = CheckWanted(assumed_stack(parse_length("59.970 mm")), "59.970 mm", 2, LIMIT, LIMIT)


def boards(*readings: Reading) -> list[Board]:
    """The first board, and one after each reading."""
    taken = StackReadings()
    made = [check_board(None, WANTED, taken, LINK, START_US)]
    for each in readings:
        said = take(taken, each, WANTED)
        taken = said.taken
        made.append(
            check_board(made[-1], WANTED, taken, LINK, START_US, reading=each, said=said.words)
        )
    return made


def test_the_readings_are_counted_and_each_is_shown() -> None:
    first, second, last = boards(reading("59.970"), reading("59.971", START_US + SECOND_US))
    assert first.check == CheckAsked("prove", "59.970 mm", 0, 2)
    assert first.last is None
    assert second.asked.action == "reading 2 of 2: press send on the stack"
    assert second.last is not None
    assert (second.last.value, second.last.counts) == ("59.970", True)
    assert (last.status, last.asked.action, last.step) == ("closed", "", 3)


def test_a_doubted_reading_is_shown_with_its_reason_and_moves_nothing() -> None:
    first, doubted = boards(reading("65.000"))
    assert doubted.last is not None
    assert not doubted.last.counts
    assert "more than 0.5 mm from the stack of 59.970 mm" in doubted.last.why_not[0]
    assert doubted.step == first.step


def test_each_reading_sounds_and_the_last_one_like_its_judgement() -> None:
    """The second is the last wanted: the check is judged at once."""
    first, kept, last = boards(reading("59.970"), reading("59.971", START_US + SECOND_US))
    assert [first.cue, kept.cue, last.cue] == ["", "kept", ""]
    assert boards(reading("65.000"))[1].cue == "look"
    lost = msgspec.structs.replace(LINK, is_lost=True)
    taken = StackReadings()
    assert check_board(first, WANTED, taken, lost, START_US, said="lost").cue == "gauge-lost"


@pytest.mark.parametrize(
    ("second", "cue", "words"),
    [("59.971", "check-passed", "Check passed: "), ("59.980", "check-failed", "Check FAILED: ")],
)
def test_the_last_board_has_the_judged_check(second: str, cue: str, words: str) -> None:
    """0.000 and 0.010 mm on the stack have a mean error of 0.005 mm; 0.002 mm are permitted."""
    readings = (reading("59.970"), reading(second, START_US + SECOND_US))
    last = boards(*readings)[-1]
    result = prove(readings, WANTED, Temperatures(), "mic", "usb-1", "Ada")
    board = proven_board(last, result.check, START_US)
    assert (board.cue, board.step, board.status, board.words) == (cue, last.step + 1, "closed", ())
    assert board.news[0].startswith(words)
    (check,) = board.checks
    assert (check.passed, check.mean_error_mm) == (result.check.passed, result.check.mean_error_mm)
