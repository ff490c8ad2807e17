"""What stands on the page, in words."""

from pathlib import Path

import pytest
from msgspec.structs import replace

from daq.board.board import LastValue
from daq.page.server.moment import Moment
from daq.page.server.seen import PageSeen, clean, plainly, seen
from tests.daq.page.boards import Shown


@pytest.fixture
def shown(tmp_path: Path) -> Shown:
    shown = Shown(tmp_path / "s")
    shown.press("59.970", "59.971", "59.980")
    return shown


def last(shown: Shown, value: LastValue) -> PageSeen:
    return seen(Moment(replace(shown.board, last=value)), shown.layout)


def test_a_value_tells_its_distance_to_the_low_limit(shown: Shown) -> None:
    """59.980 less the gauge's mean error of 0.0005 mm is 59.9795; less 59.970 it is 0.0095."""
    value = seen(Moment(shown.board), shown.layout).value
    assert value is not None
    assert (value.text, value.unit, value.of) == ("59.980", "mm", "M1 front 0°")
    assert (value.counted, value.tone) == ("Counts", "good")
    assert value.distance == "0.0095 mm above the low limit"
    assert value.limit == "(59.970 mm; the value corrected to 59.9795)"


def test_a_value_below_its_limit_counts_and_is_marked(shown: Shown) -> None:
    shown.press("59.960")
    value = seen(Moment(shown.board), shown.layout).value
    assert value is not None
    assert (value.counted, value.tone, value.is_out) == ("Counts", "out", True)
    assert value.distance == "0.0105 mm below the low limit"  # 59.9595
    assert value.why == ()


def test_a_value_over_the_high_limit_says_so(shown: Shown) -> None:
    shown.press("59.999")
    value = seen(Moment(shown.board), shown.layout).value
    assert value is not None
    assert value.tone == "out"
    assert any("high limit" in why for why in value.why)


def test_what_does_not_count_says_why(shown: Shown) -> None:
    value = last(
        shown, LastValue("59.980", "mm", "part", "M1/front/0", counts=False, why_not=("too old",))
    ).value
    assert value is not None
    assert (value.counted, value.tone, value.why) == ("Does not count", "void", ("too old",))


@pytest.mark.parametrize(
    ("value", "of"),
    [
        (LastValue("59.970", "mm", "stack", "", counts=True), "of the stack"),
        (LastValue("1", "mm", "part", "M1/rear/90/2", counts=True), "M1 rear 90° (2)"),
        (LastValue("1", "mm", "held", "M1/rear/90", counts=False), "would be M1 rear 90°"),
        (LastValue("1", "mm", "held", "", counts=False), "held"),
    ],
)
def test_a_value_says_what_it_is_of(shown: Shown, value: LastValue, of: str) -> None:
    found = last(shown, value).value
    assert found is not None
    assert found.of == of


def test_a_value_of_no_length_has_no_distance(shown: Shown) -> None:
    value = last(shown, LastValue("20.1", "C", "part", "M1/front/0", counts=True)).value
    assert value is not None
    assert value.distance == ""


@pytest.mark.parametrize(
    ("passed_s", "age"),
    [
        *((0, "just now"), (39, "just now"), (40, "1 min ago"), (3579, "59 min ago")),
        *((3580, "1 h 0 min ago"), (9000, "2 h 30 min ago")),
    ],
)
def test_a_check_grows_old_while_nothing_comes(shown: Shown, passed_s: int, age: str) -> None:
    """The reading came 20 s after the check."""
    assert shown.board.checks[-1].age_s == 20
    assert f"Check passed {age}" in seen(Moment(shown.board, passed_s=passed_s), None).check


def test_a_row_has_the_numbers_and_the_word_of_its_journal(shown: Shown) -> None:
    first, second = seen(Moment(shown.board), shown.layout).rows
    assert (first.name, first.places, first.smallest, first.to_low) == (
        *("M1", "1/4", "59.9795", "+0.0095"),
    )
    assert (first.word, first.is_asked) == ("not proven yet", True)
    assert (second.name, second.places, second.smallest, second.word) == ("R1", "0/2", "", "")


def test_a_gauge_that_is_gone_is_told(shown: Shown) -> None:
    found = seen(Moment(replace(shown.board, link=replace(shown.board.link, is_lost=True))), None)
    assert found.is_lost
    assert found.gauge == "mic-50-75 LOST"


def test_reasons_name_no_stretch_of_work() -> None:
    assert plainly("stint 1: the gauge was off") == "the gauge was off"
    assert plainly("after check 2 of stint 1 passed: x") == "after check 2 passed: x"


def test_a_text_turns_no_direction_and_has_an_end() -> None:
    assert clean("a\u202eb") == "a\\u202eb"
    assert len(clean("x" * 65_536)) == 1000
