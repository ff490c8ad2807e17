"""Many readings in a row that cannot count told as few lines: a stream that goes on while a
question waits cannot fill the disk, nor keep the answer waiting. Pure.
"""

from typing import NamedTuple

from daq.acquisition.row_fold import Row, RowFold
from daq.rules.commands import SetAside
from drivers.reading import Reading


class _Aside(NamedTuple):
    reading: Reading
    why: str


class AsideFold:
    """Counts readings in a row that cannot count; times are the readings' own."""

    def __init__(self) -> None:
        self._rows = RowFold[_Aside]()

    @property
    def has_pending(self) -> bool:
        """Readings were counted that no line tells of yet."""
        return self._rows.has_pending

    def take(self, reading: Reading, why: str) -> SetAside | None:
        """One more, and why it cannot count: the command to store now, if any."""
        return _told(self._rows.take(_Aside(reading, why), reading.at.mono_ns))

    def flush(self) -> SetAside | None:
        """The command that tells of what was counted, if anything was."""
        return _told(self._rows.flush())

    def one_counted(self) -> None:
        """A reading that counts ends the row."""
        self._rows.end()


def _told(row: Row[_Aside] | None) -> SetAside | None:
    if row is None:
        return None
    return SetAside(row.first.reading, row.last.why, row.number, row.last.reading)
