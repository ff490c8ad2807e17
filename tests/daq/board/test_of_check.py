"""The board of a check outside any session."""

from daq.board.board import Board, CheckAsked, LinkShown
from daq.board.of_check import check_board
from daq.equipment.stacks.stack_file import assumed_stack
from daq.gauges.check_rules import CheckWanted, StackReadings, take
from daq.lengths import parse_length
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
