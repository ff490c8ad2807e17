"""When the next check is due: the earliest by a stated rule."""

from datetime import date, timedelta

from daq.gauges.due import Due, due
from daq.gauges.history import History, NoteRecord
from daq.gauges.overview import overview
from drivers.reading import utc_day
from tests.daq.gauges.history_builders import DAY_US, FIRST_US, at, daily, near

TODAY = date(2026, 1, 20)


def plain_due(history: History, *, is_out: bool = False, certificate: date | None = None) -> Due:
    return due(history, [], is_out=is_out, today=TODAY, certificate_due=certificate)


def test_a_gauge_that_was_never_checked_is_due_today() -> None:
    found = plain_due(daily([]))
    assert (found.on, found.words) == (TODAY, "it was never checked")


def test_without_drift_it_is_the_usual_interval_after_the_last_check() -> None:
    found = plain_due(daily([near(0.5), near(0.5)]))
    assert found.on == utc_day(FIRST_US + DAY_US) + timedelta(days=30)


def test_a_gauge_out_of_control_is_due_at_once() -> None:
    assert plain_due(daily([near(0.5)]), is_out=True).on == TODAY


def test_the_end_of_the_certificate_comes_first_where_it_is_first() -> None:
    found = plain_due(daily([near(0.5)]), certificate=date(2026, 1, 22))
    assert (found.on, found.words) == (
        date(2026, 1, 22),
        "the certificate in the gauge file ends",
    )


def test_a_day_noted_by_hand_counts_and_the_latest_note_wins() -> None:
    notes = [NoteRecord(about="due", text="2026-01-21"), NoteRecord(about="due", text="2026-01-25")]
    assert plain_due(daily([near(0.5), *notes])).on == date(2026, 1, 25)


def test_a_note_that_is_no_day_changes_nothing() -> None:
    assert plain_due(daily([near(0.5), NoteRecord(about="due", text="soon")])).words.startswith(
        "30 days"
    )


def test_real_drift_brings_the_check_forward() -> None:
    """8 um a year of 4 um permitted: a quarter, 1 um, is used up in 46 days; the usual 30 come
    first. At 20 um a year it is 18 days.
    """

    def drifting(um_a_year: float) -> Due:
        entries = [
            (FIRST_US + n * 10 * DAY_US, near(-1.5 + um_a_year * n * 10 / 365.25 + 0.02 * (n % 2)))
            for n in range(6)
        ]
        history = at(entries)
        return overview(history, history.lines[-1].at_us, permitted_mm=0.004).due

    assert drifting(8.0).words == "30 days after the last check"
    steep = drifting(20.0)
    assert "a quarter of the permitted 4 um" in steep.words
    last = utc_day(FIRST_US + 50 * DAY_US)
    assert timedelta(days=15) <= steep.on - last <= timedelta(days=18)


def test_a_short_line_that_shows_no_drift_brings_nothing_forward() -> None:
    history = at((FIRST_US + n * 4 * DAY_US, near(0.5 + 0.4 * (n % 3))) for n in range(6))
    found = overview(history, history.lines[-1].at_us, permitted_mm=0.004).due
    assert [reason.words for reason in found.reasons] == ["30 days after the last check"]


def test_every_reason_is_given_in_order_of_time() -> None:
    found = plain_due(daily([near(0.5)]), certificate=date(2027, 1, 1))
    assert [reason.on for reason in found.reasons] == sorted(r.on for r in found.reasons)
    assert len(found.reasons) == 2


def test_a_day_noted_by_hand_is_met_by_a_check_on_it_or_later() -> None:
    note = NoteRecord(about="due", text="2026-01-06")  # the first check is on the 5th
    assert plain_due(daily([near(0.5), note])).words == "noted by hand"
    assert plain_due(daily([near(0.5), note, near(0.5)])).words.startswith("30 days")
