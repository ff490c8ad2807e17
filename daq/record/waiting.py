"""The places of a route that wait for a reading: a whole number with a bit for each, the first
place's bit the lowest. Pure.

One number is copied for each reading where a set would be, and its lowest bit is found at once.
"""

from collections.abc import Iterable


def every(many: int) -> int:
    """A route of so many places, all of which wait."""
    return (1 << many) - 1


def of(is_waiting: Iterable[bool]) -> int:
    """A route by its places, the first one first."""
    digits = "".join("1" if waits else "0" for waits in is_waiting)
    return int(digits[::-1] or "0", 2)


def with_place(waiting: int, index: int) -> int:
    """The place at `index` waits too."""
    return waiting | 1 << index


def without_place(waiting: int, index: int) -> int:
    """The place at `index` does not wait."""
    return waiting & ~(1 << index) if waiting >> index & 1 else waiting


def first(waiting: int, many: int) -> int:
    """Where the first one is that waits, of `many` places; `many` if none does."""
    return (waiting & -waiting).bit_length() - 1 if waiting else many
