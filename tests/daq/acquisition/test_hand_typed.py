"""Lines that a person types as values: each once or twice, and none of them lost."""

from decimal import Decimal

import pytest

from daq.acquisition.hand_typed import MOST_RAW, TWICE, HandTyped, TypedOnce
from daq.rules.plausibility import Began, Target
from daq.rules.typed_value import TypedAt, typed_at
from drivers.reading import Instant, Reading, Reject

AT = Instant(5, 5000)
PLACE = typed_at(
    Began("mm", "0.001", None, ()),
    Target(Decimal("54.000"), Decimal("54.020"), Decimal("0.5"), "", ""),
    None,
    ["mm"],
    None,
)


def typed(hand: HandTyped, line: str, asked: str = "M1", where: TypedAt = PLACE) -> object:
    (found,) = hand.take(line, AT, where, asked)
    return found


def test_a_value_is_a_reading_with_its_digits_and_the_text_that_was_typed() -> None:
    found = typed(HandTyped(), " 54,010 ")
    assert found == Reading(Decimal("54.010"), "mm", Decimal("0.001"), b"54,010", AT)
    assert isinstance(found, Reading)
    assert str(found.value) == "54.010"


def test_a_completed_one_says_so() -> None:
    found = typed(HandTyped(), "013")
    assert found == Reading(
        Decimal("54.013"), "mm", Decimal("0.001"), b"013", AT, None, ("completed",)
    )


def test_what_cannot_be_read_is_a_reject_with_what_to_type() -> None:
    found = typed(HandTyped(), "54.01")
    words = "Type all digits, a zero at the end too, like 54.000"
    assert found == Reject("syntax", words, b"54.01", AT)


def test_of_a_long_line_the_beginning_is_kept_and_the_rest_counted() -> None:
    found = typed(HandTyped(), "5" * 100)
    assert isinstance(found, Reject)
    assert (found.raw, found.skipped) == (b"5" * MOST_RAW, 100 - MOST_RAW)


def test_typed_twice_the_first_is_no_reading_and_the_second_is() -> None:
    hand = HandTyped(is_twice=True)
    first = typed(hand, "54.013")
    assert isinstance(first, TypedOnce)
    assert first.words == "54.013 mm: type it once more, then Enter"
    found = typed(hand, "54,013 mm")
    assert found == Reading(Decimal("54.013"), "mm", Decimal("0.001"), b"54.013\n54,013 mm", AT)
    assert hand.first is None


@pytest.mark.parametrize(
    ("first", "second", "flags"),
    [("013", "54.013", ()), ("54.013", "013", ()), ("013", ".013", ("completed",))],
)
def test_a_value_in_full_and_its_last_digits_are_the_same(
    first: str, second: str, flags: tuple[str, ...]
) -> None:
    hand = HandTyped(is_twice=True)
    typed(hand, first)
    found = typed(hand, second)
    assert isinstance(found, Reading)
    assert (found.value, found.flags) == (Decimal("54.013"), flags)


def test_two_that_differ_are_both_dropped_and_kept_as_a_reject() -> None:
    hand = HandTyped(is_twice=True)
    typed(hand, "54.013")
    words = "54.013 mm, then 54.031 mm: not the same. Type it twice again"
    assert typed(hand, "54.031") == Reject(TWICE, words, b"54.013\n54.031", AT)
    assert isinstance(typed(hand, "54.031"), TypedOnce)  # a first one again


def test_the_same_number_in_another_unit_is_not_the_same() -> None:
    hand = HandTyped(is_twice=True)
    typed(hand, "54.013")
    assert isinstance(typed(hand, "54.013 in"), Reject)


def test_a_slip_of_the_form_leaves_the_first_one_waiting() -> None:
    hand = HandTyped(is_twice=True)
    typed(hand, "54.013")
    assert isinstance(typed(hand, "54.01"), Reject)
    assert isinstance(typed(hand, "54.013"), Reading)


def test_once_something_else_is_asked_for_the_first_one_is_over() -> None:
    hand = HandTyped(is_twice=True)
    typed(hand, "54.013", "M1")
    over, first = hand.take("54.013", AT, PLACE, "M2")
    assert over == Reject(TWICE, "54.013 mm was typed only once", b"54.013", AT)
    assert isinstance(first, TypedOnce)


def test_what_waits_can_be_given_up_and_is_not_lost() -> None:
    hand = HandTyped(is_twice=True)
    assert hand.forget(AT, "is taken back") == []
    typed(hand, "54.013")
    assert hand.forget(AT, "is taken back") == [
        Reject(TWICE, "54.013 mm is taken back", b"54.013", AT)
    ]
    assert hand.first is None
