"""What a press does, and in which order typed lines act."""

from decimal import Decimal

import pytest

from daq.acquisition.inputs import KeyboardGone, TakingMode, Typed
from daq.acquisition.trigger import Presses, TypedLines
from drivers.gauge.asking import Asking
from drivers.reading import Instant, Reading, Reject

ASKED = TakingMode(asking=Asking(reply_s=0.2))
STREAM = TakingMode(is_stream=True)
BUTTON = TakingMode()


def at(ms: int) -> Instant:
    return Instant(ms * 1000, ms * 1_000_000)


def reading(ms: int) -> Reading:
    return Reading(Decimal("60.000"), "mm", Decimal("0.001"), b"60.000 mm", at(ms))


def test_a_gauge_with_a_button_takes_no_presses_and_each_reading_counts() -> None:
    presses = Presses(BUTTON)
    assert presses.refusal(is_away=False) == "this gauge is not asked: press its own send button"
    assert presses.why(reading(1)) == "sent"
    assert not presses.is_waiting


def test_an_asked_gauge_is_asked_once_until_it_answers() -> None:
    presses = Presses(ASKED)
    assert presses.refusal(is_away=False) is None
    assert presses.press(at(1))
    assert presses.is_waiting
    assert presses.refusal(is_away=False) == "the gauge has not answered yet"
    presses.heard(reading(2))
    assert presses.refusal(is_away=False) is None


def test_trouble_on_the_line_is_not_the_answer_that_is_waited_for() -> None:
    presses = Presses(ASKED)
    presses.press(at(1))
    presses.heard(Reject("noise", "a framing error", b"x", at(2)))
    assert presses.is_waiting


def test_of_a_stream_the_first_reading_after_a_press_counts() -> None:
    presses = Presses(STREAM)
    assert presses.why(reading(1)) is None
    assert not presses.press(at(2))  # nothing is sent to it
    assert presses.why(reading(1)) is None
    assert presses.why(reading(3)) == "pressed"
    assert presses.why(reading(4)) is None


def test_a_reject_of_a_stream_matters_only_while_a_press_waits() -> None:
    presses = Presses(STREAM)
    reject = Reject("layout", "no number", b"x", at(3))
    assert not presses.is_told(reject)
    presses.press(at(2))
    assert presses.is_told(reject)


@pytest.mark.parametrize("taking", [ASKED, STREAM])
def test_a_lost_gauge_takes_the_press_with_it(taking: TakingMode) -> None:
    presses = Presses(taking)
    presses.press(at(1))
    presses.lost()
    assert not presses.is_waiting
    assert presses.refusal(is_away=True) == "the gauge is not connected"


def test_lines_of_a_script_wait_and_lose_their_moment() -> None:
    taking = TakingMode(asking=ASKED.asking, is_script=True)
    presses = Presses(taking)
    lines = TypedLines(taking, presses)
    lines.add(Typed("first", at(1)))
    assert lines.due(0, 0) == Typed("first", at(1))
    presses.press(at(2))
    lines.add(Typed("second", at(3)))
    lines.add(KeyboardGone())
    assert lines.due(0, 0) is None
    presses.heard(reading(4))
    lines.add(Typed("behind the others", at(5)))
    assert [lines.due(0, 0) for _ in range(4)] == [
        Typed("second"),
        KeyboardGone(),
        Typed("behind the others"),
        None,
    ]


def test_on_a_terminal_no_line_waits() -> None:
    presses = Presses(ASKED)
    lines = TypedLines(ASKED, presses)
    presses.press(at(1))
    lines.add(Typed("stop", at(2)))
    assert lines.due(0, 0) == Typed("stop", at(2))
