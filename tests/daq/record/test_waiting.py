"""The places that wait, as one number."""

from hypothesis import given
from hypothesis import strategies as st

from daq.record.waiting import Waiting, bits

MANY = 200


@given(st.lists(st.tuples(st.booleans(), st.integers(0, MANY - 1)), max_size=60))
def test_what_waits_again_is_as_a_set_would_have_it(steps: list[tuple[bool, int]]) -> None:
    made, same = Waiting(unread_from=MANY), set[int]()
    for is_added, index in steps:
        made = made.with_again(index) if is_added else made.without_again(index)
        same = same | {index} if is_added else same - {index}
        assert made.first == min(same, default=MANY)
        assert [index for index in range(MANY) if made.again >> index & 1] == sorted(same)


def test_the_first_that_waits_is_again_one_or_the_first_unread_one() -> None:
    assert Waiting(5).first == 5
    assert Waiting(5, again=0b1000).first == 3
    assert Waiting(2, again=0b1000).first == 2


@given(st.lists(st.booleans(), max_size=MANY))
def test_the_lowest_bit_is_the_first(are_set: list[bool]) -> None:
    made = bits(are_set)
    assert [bool(made >> index & 1) for index in range(len(are_set))] == are_set
    assert made < 2 ** len(are_set)
