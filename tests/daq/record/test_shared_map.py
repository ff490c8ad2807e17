"""A shared map is what a dict would be that is copied for each change."""

import copy
import pickle
import sys
import weakref
from collections.abc import Callable, Iterator
from types import FrameType
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.record import shared_map
from daq.record.shared_map import SharedMap

STEPS = st.lists(
    st.tuples(st.integers(0, 100), st.integers(0, 6), st.none() | st.integers(0, 9)), max_size=40
)
"""From which of those made so far, which key, and its value; None takes it away."""


@given(steps=STEPS)
def test_maps_made_one_from_another_are_as_copied_dicts_would_be(
    steps: list[tuple[int, int, int | None]],
) -> None:
    made: list[tuple[SharedMap[int, int], dict[int, int]]] = [(SharedMap(), {})]
    for which, key, value in steps:
        shared, same = made[which % len(made)]
        if value is not None:
            made.append((shared.with_item(key, value), same | {key: value}))
        elif key in same:
            made.append((shared.without(key), {k: v for k, v in same.items() if k != key}))
        else:
            with pytest.raises(KeyError):
                shared.without(key)
    for shared, same in made:
        assert (len(shared), bool(shared)) == (len(same), bool(same))
        assert dict(shared) == dict(shared.items()) == same
        assert sorted(shared.values()) == sorted(same.values())
        for key in range(8):
            assert (key in shared) is (key in same)
            assert shared.get(key) == same.get(key)
            assert shared.get(key, "none") == same.get(key, "none")
        assert [shared[key] for key in same] == list(same.values())
    for shared, same in made:
        for other, other_same in made:
            assert (shared == other) is (same == other_same) is not (shared != other)


@given(steps=STEPS)
def test_a_run_of_changes_leaves_each_map_what_it_was(
    steps: list[tuple[int, int, int | None]],
) -> None:
    """The usual case: each is made from the newest."""
    shared: SharedMap[int, int] = SharedMap([(0, -1)])
    same = {0: -1}
    made = [(shared, same)]
    for _, key, value in steps:
        if value is None and key not in same:
            continue
        if value is None:
            shared, same = shared.without(key), {k: v for k, v in same.items() if k != key}
        else:
            shared, same = shared.with_item(key, value), same | {key: value}
        made.append((shared, same))
    assert [dict(each) for each, _ in made] == [same for _, same in made]


def test_what_is_not_there_is_an_error_old_and_new() -> None:
    old: SharedMap[str, int] = SharedMap([("a", 1)])
    new = old.with_item("b", 2)
    for each in (old, new):
        with pytest.raises(KeyError, match="c"):
            each["c"]
        with pytest.raises(KeyError, match="c"):
            each.without("c")
    with pytest.raises(KeyError, match="b"):
        old["b"]
    assert (dict(old), dict(new)) == ({"a": 1}, {"a": 1, "b": 2})


class Held:
    """A value of which one can see whether anybody still has it."""


@pytest.mark.parametrize("look", [iter, SharedMap.keys, SharedMap.values, SharedMap.items])
def test_one_that_is_looked_through_does_not_change_meanwhile(
    look: Callable[[SharedMap[str, str]], Iterator[str]],
) -> None:
    shared = SharedMap([("a", "x"), ("b", "y")])
    seen = look(shared)
    shared.with_item("c", "z").without("a")
    assert sorted(seen) == sorted(look(SharedMap([("a", "x"), ("b", "y")])))


def test_the_empty_map_keeps_nothing_of_those_made_from_it() -> None:
    """It is the one that every state begins with."""
    empty: SharedMap[str, Held] = SharedMap()
    value = Held()
    is_held = weakref.ref(value)
    more = empty.with_item("a", value)
    gone = more.without("a")
    assert dict(empty.with_item("b", value)) == dict(gone.with_item("b", value)) == {"b": value}
    assert (dict(more), dict(empty), dict(gone)) == ({"a": value}, {}, {})
    del value, more
    assert is_held() is None


def test_many_maps_go_with_the_oldest_that_holds_them() -> None:
    """Each holds the next newer one: a hundred thousand end one in the other."""
    value = Held()
    is_held = weakref.ref(value)
    oldest = newest = SharedMap([(0, value)])
    for number in range(1, 100_000):
        newest = newest.with_item(number, value)
    del value, newest
    assert (len(oldest), is_held() is not None) == (1, True)
    del oldest
    assert is_held() is None


class Interrupted(Exception):
    """Comes in the middle of a change."""


def interrupted(change: Callable[[], object], step: int) -> bool:
    """A change is made, and interrupted before this step of it, if it has so many."""
    left = step

    def trace(frame: FrameType, event: str, arg: Any) -> Any:
        nonlocal left
        if frame.f_code.co_filename != shared_map.__file__:
            return None
        frame.f_trace_opcodes = True
        left -= event == "opcode"
        if left == 0:
            raise Interrupted
        return trace

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        change()
    except Interrupted:
        return True
    finally:
        sys.settrace(before)
    return False


SAME = {"a": 1, "b": 2}


@pytest.mark.parametrize(
    ("change", "changed"),
    [
        (lambda shared: shared.with_item("b", 3), {"a": 1, "b": 3}),
        (lambda shared: shared.with_item("c", 3), SAME | {"c": 3}),
        (lambda shared: shared.without("b"), {"a": 1}),
    ],
)
def test_a_change_that_is_interrupted_anywhere_changes_nothing(
    change: Callable[[SharedMap[str, int]], SharedMap[str, int]], changed: dict[str, int]
) -> None:
    """A request to end may come between any two steps."""
    for step in range(1, 1000):
        shared = SharedMap(SAME.items())
        is_interrupted = interrupted(lambda: change(shared), step)  # noqa: B023 - called at once
        assert dict(shared) == SAME
        assert shared.get("b") == 2
        assert ("c" in shared, len(shared)) == (False, 2)
        assert dict(change(shared)) == changed
        if not is_interrupted:
            break
    assert 10 < step < 999


def test_a_map_is_copied_alone_and_never_shares_its_dictionary() -> None:
    old = newest = SharedMap(SAME.items())
    for number in range(5000):
        newest = newest.with_item(str(number), number)
    for copied in (copy.copy(old), copy.deepcopy(old), pickle.loads(pickle.dumps(old))):
        assert copied == old == SAME
        assert copied.with_item("c", 3) == SAME | {"c": 3}
    twin = copy.copy(newest)
    newest.without("a")
    assert "a" in twin


def test_a_map_says_what_it_holds() -> None:
    old = SharedMap([("a", 1)])
    old.with_item("b", 2)
    assert repr(old) == "SharedMap({'a': 1})"
