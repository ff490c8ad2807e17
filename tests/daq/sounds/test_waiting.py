"""Few wait, the last of the most urgent always."""

from daq.sounds.waiting import Sounding, with_one_more


def test_the_oldest_of_the_least_urgent_makes_room() -> None:
    lost, first, second = Sounding("gauge-lost", 7), Sounding("kept", 1), Sounding("kept again", 1)
    assert with_one_more((lost, first), second, 2) == (lost, second)
    assert with_one_more((first, lost), second, 2) == (lost, second)


def test_what_is_less_urgent_than_all_that_wait_is_dropped_itself() -> None:
    lost, failed = Sounding("gauge-lost", 7), Sounding("check-failed", 6)
    assert with_one_more((failed, lost), Sounding("kept", 1), 2) == (failed, lost)


def test_where_there_is_room_all_wait_in_order_of_time() -> None:
    first, second = Sounding("look", 5), Sounding("kept", 1)
    assert with_one_more(with_one_more((), first, 2), second, 2) == (first, second)
