"""A shared map is what a dict would be that is copied for each change."""

import weakref
from collections.abc import Callable, Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

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


@pytest.mark.parametrize("look", [iter, SharedMap.keys, SharedMap.values, SharedMap.items])
def test_one_that_is_looked_through_does_not_change_meanwhile(
    look: Callable[[SharedMap[str, str]], Iterator[object]],
) -> None:
    shared = SharedMap([("a", "x"), ("b", "y")])
    seen = look(shared)
    shared.with_item("c", "z").without("a")
    assert len(list(seen)) == 2


def test_the_empty_map_keeps_nothing_of_those_made_from_it() -> None:
    """It is the one that every state begins with."""
    empty: SharedMap[str, int] = SharedMap()
    more = empty.with_item("a", 1)
    gone = more.without("a")
    assert dict(empty.with_item("b", 2)) == {"b": 2}
    assert dict(gone.with_item("c", 3)) == {"c": 3}
    assert (dict(more), dict(empty), dict(gone)) == ({"a": 1}, {}, {})


class Held:
    """A value of which one can see whether anybody still has it."""


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
    """Comes while a key is looked for."""


class Key(str):
    """A key that is interrupted when its hash is asked for so many times."""

    left = 0

    def __hash__(self) -> int:
        Key.left -= 1
        if Key.left == 0:
            raise Interrupted
        return super().__hash__()


@pytest.mark.parametrize("asked", [1, 2])
@pytest.mark.parametrize("change", ["with_item", "without"])
def test_a_change_that_is_interrupted_changes_nothing(change: str, asked: int) -> None:
    """Before the map speaks for itself, and after that."""
    key = Key("b")
    same = {"a": 1} if change == "with_item" else {"a": 1, "b": 2}
    shared: SharedMap[str, int] = SharedMap(same.items())
    Key.left = asked
    with pytest.raises(Interrupted):
        shared.with_item(key, 3) if change == "with_item" else shared.without(key)
    assert dict(shared) == same
    assert dict(shared.with_item("c", 3)) == same | {"c": 3}


def test_a_map_says_what_it_holds() -> None:
    old = SharedMap([("a", 1)])
    old.with_item("b", 2)
    assert repr(old) == "SharedMap({'a': 1})"
