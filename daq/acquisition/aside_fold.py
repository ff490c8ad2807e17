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
    """Counts readings in a row that cannot count; times are the readings' own.

    Each channel by itself: a line tells when the last of its channel came, and how soon after that
    the next is believed.
    """

    def __init__(self) -> None:
        self._rows: dict[str | None, RowFold[_Aside]] = {}

    @property
    def has_pending(self) -> bool:
        """Readings were counted that no line tells of yet."""
        return any(rows.has_pending for rows in self._rows.values())

    def take(self, reading: Reading, why: str) -> SetAside | None:
        """One more, and why it cannot count: the command to store now, if any."""
        rows = self._rows.setdefault(reading.channel, RowFold[_Aside]())
        return _told(rows.take(_Aside(reading, why), reading.at.mono_ns))

    def last_us(self, channel: str | None) -> int | None:
        """When the last of a channel came that no line tells of yet; None if there is none."""
        rows = self._rows.get(channel)
        last = None if rows is None else rows.pending_last
        return None if last is None else last.reading.at.utc_us

    def flush(self) -> list[SetAside]:
        """The commands that tell of what was counted, one a channel."""
        told = (_told(rows.flush()) for rows in self._rows.values())
        return [command for command in told if command is not None]

    def one_counted(self) -> None:
        """A reading that counts ends the row."""
        for rows in self._rows.values():
            rows.end()


def _told(row: Row[_Aside] | None) -> SetAside | None:
    if row is None:
        return None
    return SetAside(row.first.reading, row.last.why, row.number, row.last.reading)
