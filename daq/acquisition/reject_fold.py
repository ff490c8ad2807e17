"""Many rejects in a row told as few lines, so that a wrong baud rate cannot fill the disk. Pure."""

from daq.rules.commands import TakeReject
from drivers.reading import Reject

SINGLY = 20
"""So many in a row get a line each; what follows is counted and told at most once a second."""

EVERY_NS = 1_000_000_000


class RejectFold:
    """Counts rejects in a row; times are the rejects' own."""

    def __init__(self) -> None:
        self._in_row = 0
        self._first: Reject | None = None
        self._last: Reject | None = None
        self._count = 0
        self._told_ns: int | None = None

    @property
    def has_pending(self) -> bool:
        """Rejects were counted that no line tells of yet."""
        return self._count > 0

    def take(self, reject: Reject) -> TakeReject | None:
        """One more reject: the command to store now, if any."""
        self._in_row += 1
        if self._in_row <= SINGLY:
            self._told_ns = reject.at.mono_ns
            return TakeReject(reject)
        self._first = self._first or reject
        self._last = reject
        self._count += 1
        if self._told_ns is None or reject.at.mono_ns - self._told_ns >= EVERY_NS:
            command = self.flush()
            self._told_ns = reject.at.mono_ns
            return command
        return None

    def flush(self) -> TakeReject | None:
        """The command that tells of what was counted, if anything was; called at most a second
        after the last reject.
        """
        first, last, count = self._first, self._last, self._count
        if first is None or last is None:
            return None
        self._first = self._last = None
        self._count = 0
        self._told_ns = last.at.mono_ns + EVERY_NS  # at the latest
        return TakeReject(first, count, last.raw if count > 1 else b"")

    def reading_came(self) -> None:
        """A reading ends the row."""
        self._in_row = 0
