"""A sequence that never changes, and to which one more is added without copying what is there."""

from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import islice
from typing import TypeVar, overload

T = TypeVar("T")

_make = object.__new__


class Log(Sequence[T]):
    """What came, in order. Logs that were made one from another share one list, of which each knows
    how much is its own; only where two go on from the same one has the second to copy. To be added
    to by one thread.
    """

    __slots__ = ("_items", "_size")

    def __init__(self, items: Iterable[T] = ()) -> None:
        self._items = list(items)
        self._size = len(self._items)

    def added(self, item: T) -> "Log[T]":
        """With one more behind the last."""
        items, size = self._items, self._size
        if not size or size != len(items):  # the empty one is everybody's
            items = items[:size]
        items.append(item)
        more: Log[T] = _make(Log)  # __init__ would copy
        more._items = items
        more._size = size + 1
        return more

    def since(self, start: int) -> list[T]:
        """Those from `start` on; what lies before is not touched."""
        return self._items[start : self._size]

    def found(self, key: Callable[[T], int], number: int) -> T | None:
        """The one whose key is `number`, None if there is none. Keys must go up; the last is looked
        at first, as it is the most asked for.
        """
        items, size = self._items, self._size
        if size and key(items[size - 1]) == number:
            return items[size - 1]
        at = bisect_left(items, number, hi=size, key=key)
        return items[at] if at < size and key(items[at]) == number else None

    def __len__(self) -> int:
        return self._size

    def __iter__(self) -> Iterator[T]:
        return islice(self._items, self._size)

    @overload
    def __getitem__(self, index: int) -> T: ...

    @overload
    def __getitem__(self, index: slice) -> tuple[T, ...]: ...

    def __getitem__(self, index: int | slice) -> T | tuple[T, ...]:
        if isinstance(index, slice):
            return tuple(self._items[each] for each in range(*index.indices(self._size)))
        if not -self._size <= index < self._size:
            raise IndexError(index)
        return self._items[index % self._size]

    def __eq__(self, other: object) -> bool:
        """Of the same length, with the same in the same order."""
        if isinstance(other, Log):
            shared = self._items is other._items
            return self._size == other._size and (shared or list(self) == list(other))
        return isinstance(other, tuple) and tuple(self) == other

    __hash__ = None  # type: ignore[assignment]  # of what may be long

    def __repr__(self) -> str:
        return f"{type(self).__name__}({list(self)!r})"
