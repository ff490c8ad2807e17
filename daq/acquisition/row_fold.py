"""Many things of a kind in a row told as few lines, so that a flood cannot fill the disk. Pure."""

from typing import Generic, NamedTuple, TypeVar

T = TypeVar("T")

SINGLY = 20
"""So many in a row get a line each; what follows is counted and told at most once a second."""

EVERY_NS = 1_000_000_000


class Row(NamedTuple, Generic[T]):
    """So many in a row that are told as one line: the first, the last, how many."""

    first: T
    last: T
    number: int


class RowFold(Generic[T]):
    """Counts what comes in a row; moments are `mono_ns` of what came."""

    def __init__(self) -> None:
        self._in_row = 0
        self._pending: Row[T] | None = None
        self._last_ns = 0
        self._told_ns = 0  # of no weight before the first

    @property
    def has_pending(self) -> bool:
        """Some were counted that no line tells of yet."""
        return self._pending is not None

    @property
    def pending_last(self) -> T | None:
        """The last one that no line tells of yet."""
        return None if self._pending is None else self._pending.last

    def take(self, item: T, at_ns: int) -> Row[T] | None:
        """One more: the row to store now, if any."""
        self._in_row += 1
        if self._in_row <= SINGLY:
            self._told_ns = at_ns
            return Row(item, item, 1)
        first, _, number = self._pending or Row(item, item, 0)
        self._pending, self._last_ns = Row(first, item, number + 1), at_ns
        if at_ns - self._told_ns >= EVERY_NS:
            row = self.flush()
            self._told_ns = at_ns
            return row
        return None

    def flush(self) -> Row[T] | None:
        """The row that was only counted, if any was; called at most a second after the last."""
        row, self._pending = self._pending, None
        if row is not None:
            self._told_ns = self._last_ns + EVERY_NS  # at the latest
        return row

    def end(self) -> None:
        """Something else came: the next is the first of a row."""
        self._in_row = 0
