"""What a press does, and in which order typed lines act."""

from collections.abc import Callable
from decimal import Decimal

import msgspec
import pytest

from daq.acquisition.inputs import Item, KeyboardGone, TakingMode, Typed
from daq.acquisition.trigger import Presses, TypedLines
from drivers.gauge.asking import Asking
from drivers.reading import Instant, Reading, Reject

ASKED = TakingMode(asking=Asking(reply_s=0.2))
STREAM = TakingMode(is_stream=True)
BUTTON = TakingMode()


class Foot:
    """A send key that nobody presses."""

    def __call__(self, put: Callable[[Item], None]) -> None: ...
    def stop(self) -> None: ...


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


def test_a_gauge_that_is_asked_all_the_time_is_not_asked_by_a_press_and_its_silence_is_told() -> (
    None
):
    presses = Presses(TakingMode(asking=Asking(every_s=0.1), is_stream=True))
    assert not presses.press(at(1))
    assert presses.why(reading(2)) == "pressed"
    assert not presses.is_waiting
    assert presses.is_told(Reject("no-reply", "no answer", b"", at(3)))


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


def test_lines_of_a_script_wait_no_longer_for_a_stream_that_gives_nothing_but_rejects() -> None:
    taking = TakingMode(is_stream=True, is_script=True)
    presses = Presses(taking)
    lines = TypedLines(taking, presses)
    presses.press(at(1000))
    lines.add(Typed("stop", at(1001)))
    for ms in (1100, 1399):
        presses.heard(Reject("syntax", "no number", b"x", at(ms)))
        assert lines.due(0, 0) is None
    presses.heard(Reject("syntax", "no number", b"x", at(1400)))
    assert lines.due(0, 0) == Typed("stop")
    assert presses.why(reading(1500)) == "pressed"  # the press is not forgotten
    presses.press(at(2000))
    lines.add(Typed("back", at(2001)))
    assert lines.due(0, 0) is None  # each press waits anew


# How soon after another a press may come ------------------------------------------------------


def test_a_press_too_soon_is_refused_and_a_refused_one_counts_as_the_one_before() -> None:
    presses = Presses(STREAM)
    assert presses.too_soon(at(1000), 700_000) is None
    said = presses.too_soon(at(1200), 700_000)
    assert said == "that press came 0.2 s after the one before: press once for each reading"
    assert presses.too_soon(at(1800), 700_000) == ""  # 0.6 s after the refused one; said just now
    assert presses.too_soon(at(2499), 700_000) is not None
    assert presses.too_soon(at(3199), 700_000) is None


def test_a_key_held_down_takes_one_reading_and_is_told_once_a_second() -> None:
    presses = Presses(STREAM)
    said = [presses.too_soon(at(30 * n), 700_000) for n in range(101)]  # 30 ms, for 3 s
    assert said.count(None) == 1
    # The first repeat at 30 ms is told, then those at 1.05 and 2.07 s: at least a second apart.
    assert [n for n, words in enumerate(said) if words] == [1, 35, 69]


def test_a_press_in_its_time_lets_the_next_refusal_be_told_at_once() -> None:
    presses = Presses(STREAM)
    presses.too_soon(at(1000), 700_000)
    assert presses.too_soon(at(1200), 700_000)
    assert presses.too_soon(at(1900), 700_000) is None
    assert presses.too_soon(at(2000), 700_000)  # 0.8 s after the words before


def test_a_press_stamped_before_the_last_one_is_not_too_soon() -> None:
    """Two threads stamp: those of the keyboard and of the send key."""
    presses = Presses(STREAM)
    presses.too_soon(at(1000), 700_000)
    assert presses.too_soon(at(999), 700_000) is None


def test_the_shorter_time_of_a_check_and_none_at_0() -> None:
    presses = Presses(STREAM)
    assert presses.too_soon(at(0), 300_000) is None
    assert presses.too_soon(at(300), 300_000) is None
    assert presses.too_soon(at(300), 0) is None


def test_a_value_that_was_taken_by_itself_counts_as_a_press() -> None:
    presses = Presses(TakingMode(is_stream=True, rest_s=0.5))
    presses.rested(at(1000))
    assert presses.too_soon(at(1100), 700_000) is not None


def test_a_reading_was_triggered_by_its_press_or_by_coming_to_rest_or_by_itself() -> None:
    presses = Presses(TakingMode(is_stream=True, rest_s=0.5))
    assert presses.wanted(reading(1), "sent") == at(1)
    presses.press(at(100))
    assert presses.why(reading(150)) == "pressed"
    assert presses.wanted(reading(150), "pressed") == at(100)
    moved = msgspec.structs.replace(reading(200), value=Decimal("61.000"))
    assert presses.why(moved) is None
    for ms in range(300, 800, 100):
        assert presses.why(reading(ms)) is None
    assert presses.why(reading(800)) == "rested"
    assert presses.wanted(reading(800), "rested") == at(300)


def test_what_an_asked_gauge_sends_unasked_is_known_while_somebody_can_press() -> None:
    presses = Presses(ASKED)
    assert presses.why(reading(1)) == "unasked"
    presses.press(at(2))
    assert presses.why(reading(3)) == "pressed"
    presses.heard(reading(3))
    assert presses.why(reading(4)) == "unasked"
    presses.keyboard_gone()
    assert presses.why(reading(5)) == "sent"
    by_foot = Presses(TakingMode(asking=Asking(), has_keyboard=False, send_key=Foot()))
    assert by_foot.why(reading(1)) == "unasked"
    by_foot.keyboard_gone()
    assert by_foot.why(reading(1)) == "unasked"
    nobody = Presses(TakingMode(asking=Asking(), has_keyboard=False))
    assert nobody.why(reading(1)) == "sent"
    assert Presses(TakingMode(is_typed=True)).why(reading(1)) == "typed"


def test_a_press_of_a_script_waits_until_it_is_not_too_soon() -> None:
    taking = TakingMode(asking=ASKED.asking, is_script=True)
    presses = Presses(taking)
    lines = TypedLines(taking, presses)
    presses.too_soon(at(0), 700_000)
    lines.add(Typed("", at(1)))
    lines.add(Typed("note behind it", at(1)))
    assert lines.left_ns(100_000_000, 700_000) == 600_000_000
    assert lines.due(100_000_000, 700_000) is None
    assert lines.due(700_000_000, 700_000) == Typed("")
    assert lines.due(700_000_000, 700_000) == Typed("note behind it")
    assert lines.left_ns(0, 700_000) is None


def test_words_of_a_script_wait_for_no_interval_nor_do_presses_that_mean_nothing() -> None:
    for taking in (TakingMode(asking=ASKED.asking, is_script=True), TakingMode(is_script=True)):
        presses = Presses(taking)
        lines = TypedLines(taking, presses)
        presses.too_soon(at(0), 700_000)
        lines.add(Typed("back" if taking.has_trigger else ""))
        assert lines.due(0, 700_000) is not None


def test_on_a_terminal_no_line_waits() -> None:
    presses = Presses(ASKED)
    lines = TypedLines(ASKED, presses)
    presses.press(at(1))
    lines.add(Typed("stop", at(2)))
    assert lines.due(0, 0) == Typed("stop", at(2))
