"""The places of a route that wait for a reading. Pure.

A run reads its places in their order, so what waits is what lies behind the last one read, and a
few places before that which opened again. These are the bits of one number, the first place's the
lowest: it is copied for each reading where a set would be, and its lowest bit is found at once.
"""

from collections.abc import Iterable

import msgspec


class Waiting(msgspec.Struct, frozen=True, gc=False):
    """The first place without a reading that is not skipped either is `unread_from`, the length of
    the route if there is none. It waits, and so does each of its kind behind it. `again` has a bit
    for every other place that waits: one that opened again before it, or whose reading is lost.
    """

    unread_from: int = 0
    again: int = 0

    @property
    def first(self) -> int:
        """Where the first place that waits is; the length of the route if none does."""
        again = self.again
        if not again:
            return self.unread_from
        return min((again & -again).bit_length() - 1, self.unread_from)

    def with_again(self, index: int) -> "Waiting":
        """The place at `index` waits again."""
        return Waiting(self.unread_from, self.again | 1 << index)

    def without_again(self, index: int) -> "Waiting":
        """The place at `index` does not wait again, or as one of those without a reading."""
        if not self.again >> index & 1:
            return self
        return Waiting(self.unread_from, self.again ^ 1 << index)


def bits(are_set: Iterable[bool]) -> int:
    """A number by its bits, the lowest first."""
    digits = "".join("1" if is_set else "0" for is_set in are_set)
    return int(digits[::-1] or "0", 2)
