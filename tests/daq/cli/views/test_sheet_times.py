"""Moments as the clock of the shop had them."""

from daq.cli.views.sheet_times import local_days, local_minute
from tests.builders import START_US

HOUR_US = 3_600_000_000


def test_a_moment_is_local_where_the_record_says_how_the_clocks_were() -> None:
    assert local_minute(START_US, "+01:00") == "2026-11-25 09:00"
    assert local_minute(START_US, "-09:30") == "2026-11-24 22:30"
    assert local_minute(START_US, "") == "2026-11-25 08:00 UTC"


def test_a_session_over_midnight_has_two_days() -> None:
    assert local_days(START_US, START_US + HOUR_US, "+01:00") == "2026-11-25"
    assert local_days(START_US, START_US + HOUR_US, "+15:30") == "2026-11-25 to 2026-11-26"


def test_a_moment_at_the_end_of_the_calendar_is_told_in_utc() -> None:
    last_us = 253_402_300_799_000_000  # 9999-12-31T23:59:59Z
    assert local_minute(last_us, "+01:00") == "9999-12-31 23:59 UTC"
