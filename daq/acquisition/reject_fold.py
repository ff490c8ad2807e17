"""Many rejects in a row told as few lines: a wrong baud rate cannot fill the disk. Pure."""

from daq.acquisition.row_fold import Row, RowFold
from daq.rules.commands import TakeReject
from drivers.reading import Reject


class RejectFold:
    """Counts rejects in a row; times are the rejects' own."""

    def __init__(self) -> None:
        self._rows = RowFold[Reject]()

    @property
    def has_pending(self) -> bool:
        """Rejects were counted that no line tells of yet."""
        return self._rows.has_pending

    def take(self, reject: Reject) -> TakeReject | None:
        """One more reject: the command to store now, if any."""
        return _told(self._rows.take(reject, reject.at.mono_ns))

    def flush(self) -> TakeReject | None:
        """The command that tells of what was counted, if anything was; called at most a second
        after the last reject.
        """
        return _told(self._rows.flush())

    def reading_came(self) -> None:
        """A reading ends the row."""
        self._rows.end()


def _told(row: Row[Reject] | None) -> TakeReject | None:
    if row is None:
        return None
    return TakeReject(row.first, row.number, row.last.raw if row.number > 1 else b"")
