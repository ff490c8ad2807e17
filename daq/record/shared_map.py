"""A map that never changes, and of which another with one key more, or less, is made at once.

The method is that of H. G. Baker, "Shallow Binding Makes Functional Arrays Fast" (ACM SIGPLAN
Notices 26 (8), 1991; from memory), but one that is read stays where it is: nothing turns round.
"""

from collections.abc import ItemsView, Iterable, Iterator, Mapping, ValuesView
from typing import Any, Self, TypeVar, overload

K = TypeVar("K")
V = TypeVar("V")
D = TypeVar("D")

_NOTHING: Any = object()
_make = object.__new__


class SharedMap(Mapping[K, V]):
    """Keys with their values, in an order that says nothing.

    Maps that were made one from another share one dict, that of the newest; each older one knows
    the next newer, and what one key had before that. So the newest is as quick as a dict, and one
    that is older by some changes looks at so many. Only where two go on from the same one has the
    second to copy. Who keeps an old one keeps all that came after it. To be used by one thread.
    """

    __slots__ = ("_items", "_key", "_newer", "_value")

    _items: dict[K, V]
    _newer: "SharedMap[K, V] | None"
    _key: K
    _value: V

    def __init__(self, items: Iterable[tuple[K, V]] = ()) -> None:
        self._items = dict(items)
        self._newer = None

    def with_item(self, key: K, value: V) -> "SharedMap[K, V]":
        """With this value at the key, whatever stood there."""
        items = self._items
        if self._newer is not None or not items:  # the empty one is everybody's
            return SharedMap((self._copy() | {key: value}).items())
        made: SharedMap[K, V] = _make(SharedMap)  # __init__ would copy
        made._items = items
        made._newer = None
        # This one speaks for itself before the dict changes, whoever interrupts.
        self._key = key
        self._value = items.get(key, _NOTHING)
        self._newer = made
        items[key] = value
        return made

    def without(self, key: K) -> "SharedMap[K, V]":
        """Without the key; KeyError if it is not there."""
        items = self._items
        if self._newer is not None or key not in items:
            items = self._copy()
            del items[key]
            return SharedMap(items.items())
        made: SharedMap[K, V] = _make(SharedMap)
        made._items = items
        made._newer = None
        self._key = key
        self._value = items[key]
        self._newer = made
        del items[key]
        return made

    def _copy(self) -> dict[K, V]:
        """What is in this one, in a dict of its own."""
        older: list[SharedMap[K, V]] = []
        newest = self
        while newest._newer is not None:
            older.append(newest)
            newest = newest._newer
        items = dict(newest._items)
        for each in reversed(older):
            if each._value is _NOTHING:
                items.pop(each._key, None)
            else:
                items[each._key] = each._value
        return items

    @overload
    def get(self, key: K, /) -> V | None: ...

    @overload
    def get(self, key: K, /, default: V | D) -> V | D: ...

    def get(self, key: K, /, default: V | D | None = None) -> V | D | None:
        """The value at the key, else the default."""
        if self._newer is None:
            return self._items.get(key, default)
        found = self._found(key)
        return default if found is _NOTHING else found

    def _found(self, key: object) -> Any:
        each: SharedMap[K, V] = self
        while each._newer is not None:
            if each._key == key:
                return each._value
            each = each._newer
        return each._items.get(key, _NOTHING)  # type: ignore[arg-type]  # any object may ask

    def __getitem__(self, key: K) -> V:
        found = self._found(key)
        if found is _NOTHING:
            raise KeyError(key)
        value: V = found
        return value

    def __contains__(self, key: object) -> bool:
        return (key in self._items) if self._newer is None else self._found(key) is not _NOTHING

    def __len__(self) -> int:
        return len(self._items if self._newer is None else self._copy())

    def __iter__(self) -> Iterator[K]:
        return iter(self._copy())

    def items(self) -> ItemsView[K, V]:
        """Keys and values."""
        return self._copy().items()

    def values(self) -> ValuesView[V]:
        """The values."""
        return self._copy().values()

    def __reduce__(self) -> tuple[type[Self], tuple[tuple[tuple[K, V], ...]]]:
        """Copied, or stored, by what is in it: alone, without those that are newer."""
        return type(self), (tuple(self._copy().items()),)

    def __repr__(self) -> str:
        return f"{type(self).__name__}({self._copy()!r})"
