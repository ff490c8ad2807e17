"""Which journals are shown where not all of them fit, and words for the rest. Pure."""

from collections.abc import Sequence

from daq.board.board import JournalRow
from daq.board.row_words import BAD


def nearest(rows: Sequence[JournalRow], here: int, count: int) -> list[JournalRow]:
    """So many rows, in the order of the run: the one at `here`, half of them at most that need work
    or are bad, then the nearest.
    """
    by_distance = sorted(range(len(rows)), key=lambda at: (abs(at - here), at))
    troubled = [at for at in by_distance if rows[at].tainted or rows[at].result.verdict in BAD]
    wanted = [here, *troubled[: count // 2], *by_distance]
    kept = sorted(list(dict.fromkeys(wanted))[: max(0, count)])
    return [rows[at] for at in kept]


def rest_counts(rows: Sequence[JournalRow], kept: Sequence[JournalRow]) -> list[str]:
    """How the journals that are not shown stand, each sort with its number."""
    shown = {row.result.journal for row in kept}
    left = [row for row in rows if row.result.journal not in shown]
    again = sum(row.tainted > 0 for row in left)
    bad = sum(row.result.verdict in BAD for row in left)
    done = sum(row.result.verdict != "incomplete" and not row.tainted for row in left)
    return [
        f"{count} {what}"
        for count, what in (
            (again, "to take again"),
            (bad, "not within limits"),
            (done, "measured"),
            (len(left) - done - again, "to come"),
        )
        if count
    ]
