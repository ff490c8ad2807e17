"""Which journals are shown where not all fit, and words for the rest."""

from daq.board.board import JournalRow
from daq.board.row_choice import nearest, rest_counts
from daq.record.results import JournalResult


def rows(*verdicts: str) -> list[JournalRow]:
    """Journals J0, J1 … with these verdicts; `again` has two readings to be taken again."""
    return [
        JournalRow(
            JournalResult(
                journal=f"J{at}",
                group="",
                positions_planned=2,
                positions_measured=2,
                low_limit_mm="59.97",
                verdict="incomplete" if verdict == "again" else verdict,
                size_verdict="",
                form_verdict="",
                decision_rule="",
            ),
            0,
            0,
            2 if verdict == "again" else 0,
        )
        for at, verdict in enumerate(verdicts)
    ]


def names(found: list[JournalRow]) -> list[str]:
    return [row.result.journal for row in found]


def test_the_nearest_are_kept_in_the_order_of_the_run() -> None:
    every = rows(*["incomplete"] * 9)
    assert names(nearest(every, 4, 3)) == ["J3", "J4", "J5"]
    assert names(nearest(every, 0, 3)) == ["J0", "J1", "J2"]
    assert names(nearest(every, 8, 9)) == names(every)
    assert nearest(every, 4, 0) == []


def test_half_of_them_may_be_such_as_need_work_though_far_away() -> None:
    every = rows("below", "again", "above", *["incomplete"] * 6)
    # of four: the asked one, two in trouble (the nearer ones), then the nearest
    assert names(nearest(every, 8, 4)) == ["J1", "J2", "J7", "J8"]


def test_the_rest_is_counted_by_how_it_stands() -> None:
    every = rows("again", "below", "within", "undecided", "incomplete", "incomplete")
    # below is measured too
    assert rest_counts(every, []) == [
        *("1 to take again", "1 not within limits", "3 measured", "2 to come")
    ]
    assert rest_counts(every, every) == []
    assert rest_counts(every, every[:4]) == ["2 to come"]
