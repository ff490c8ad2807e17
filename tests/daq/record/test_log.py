"""A log is what a tuple would be, whatever was made from it since."""

import weakref

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.record.log import Log

STEPS = st.lists(st.tuples(st.integers(0, 100), st.integers()), max_size=30)


@given(steps=STEPS)
def test_logs_made_one_from_another_are_as_tuples_would_be(steps: list[tuple[int, int]]) -> None:
    """Each step goes on from any of those that were made before."""
    made: list[tuple[Log[int], tuple[int, ...]]] = [(Log(), ())]
    for which, item in steps:
        log, same = made[which % len(made)]
        made.append((log.added(item), (*same, item)))
    for log, same in made:
        assert (tuple(log), len(log), bool(log)) == (same, len(same), bool(same))
        assert tuple(reversed(log)) == same[::-1]
        assert [log[at] for at in range(-len(same), len(same))] == [*same, *same]
        assert (log[-1:], log[1:], log[::2]) == (same[-1:], same[1:], same[::2])
        assert log == Log(same) == same
        assert (log == Log((*same, 1))) is (log == (*same, 1)) is False


@given(st.sets(st.integers(0, 50)), st.integers(0, 50))
def test_one_is_found_by_a_key_that_goes_up(keys: set[int], wanted: int) -> None:
    log = Log([(key, str(key)) for key in sorted(keys)])
    longer = log.added((51, "51"))  # shares the list, and is no part of the first
    assert log.found(lambda item: item[0], wanted) == (
        (wanted, str(wanted)) if wanted in keys else None
    )
    assert log.found(lambda item: item[0], 51) is None
    assert longer.found(lambda item: item[0], 51) == (51, "51")


def test_those_since_are_those_of_a_slice() -> None:
    log = Log("abc")
    log.added("d")
    assert [log.since(start) for start in range(4)] == [["a", "b", "c"], ["b", "c"], ["c"], []]


@pytest.mark.parametrize("index", [2, -3])
def test_there_is_nothing_outside(index: int) -> None:
    log = Log("ab")
    log.added("c")
    with pytest.raises(IndexError):
        log[index]


def test_one_that_is_looked_through_does_not_grow_meanwhile() -> None:
    log = Log("ab")
    found = []
    more = log
    for item in log:
        found.append(item)
        more = more.added(item)
    assert found == ["a", "b"]
    assert more == ("a", "b", "a", "b")


def test_what_is_of_another_length_or_kind_is_another() -> None:
    log = Log("ab")
    assert log != log.added("c")
    assert log.added("c") != log.added("d")
    assert log != ["a", "b"]


class Item:
    """Something of which one can see whether anybody still has it."""


def test_the_empty_log_keeps_nothing_of_those_made_from_it() -> None:
    """It is the one that every state begins with."""
    empty: Log[Item] = Log()
    item = Item()
    is_held = weakref.ref(item)
    more = empty.added(item)
    other = Item()
    assert empty.added(other) == (other,)
    assert list(more) == [item]
    assert not empty
    del item, more
    assert is_held() is None


def test_a_log_says_what_it_holds() -> None:
    assert repr(Log("ab")) == "Log(['a', 'b'])"
