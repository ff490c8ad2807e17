"""The computer without its gauges, judged from given facts."""

from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest

from daq.services.doctor.computer import (
    clock_finding,
    command_findings,
    home_findings,
    python_findings,
    terminal_finding,
)
from daq.services.doctor.facts import (
    ClockFacts,
    CommandFacts,
    HomeFacts,
    PythonFacts,
    TerminalFacts,
)
from daq.services.doctor.finding import MachineFinding

NOON = datetime(2027, 3, 1, 12, 0, tzinfo=timezone(timedelta(hours=1)))


def test_what_is_pleasant_is_named_and_never_needed() -> None:
    found = command_findings(CommandFacts(("paplay", "aplay"), ("spd-say",), ("firefox",)))
    assert [one.message for one in found] == [
        "paplay plays sounds",
        "spd-say can speak",
        "firefox shows pages",
    ]
    missing = command_findings(CommandFacts())
    assert [one.name for one in missing] == ["sound", "speech", "browser"]
    assert not any(one.ok or one.needed for one in missing)
    assert all("install" in one.message for one in missing)


# --- the clock ---


@pytest.mark.parametrize(
    ("minutes", "zone"),
    [(60, "UTC+01:00"), (0, "UTC+00:00"), (-210, "UTC-03:30"), (345, "UTC+05:45")],
)
def test_the_clock_tells_date_and_zone(minutes: int, zone: str) -> None:
    now = datetime(2027, 3, 1, 12, 0, tzinfo=timezone(timedelta(minutes=minutes)))
    assert clock_finding(ClockFacts(now=now)) == MachineFinding(
        "clock", True, False, f"2027-03-01 12:00 {zone}"
    )


@pytest.mark.parametrize("key", ["program_at", "newest_session_at"])
def test_a_date_before_what_has_been_cannot_be_right(key: str) -> None:
    """A clock that fell back to its first day, for want of a battery."""
    facts: dict[str, Any] = {key: NOON.astimezone(UTC)}
    fallen = clock_finding(ClockFacts(now=datetime(1970, 1, 1, tzinfo=UTC), **facts))
    assert (fallen.ok, fallen.needed) == (False, False)
    assert "2027-03-01, which is later. Set date and time" in fallen.message
    assert clock_finding(ClockFacts(now=NOON, **facts)).ok
    a_little_ahead: dict[str, Any] = {key: NOON + timedelta(hours=23)}
    assert clock_finding(ClockFacts(now=NOON, **a_little_ahead)).ok


def test_a_clock_that_nobody_sets_is_a_note() -> None:
    alone = clock_finding(ClockFacts(now=NOON, is_synchronised=False))
    assert (alone.ok, alone.needed) == (False, False)
    assert "timedatectl set-ntp" in alone.message
    assert clock_finding(ClockFacts(now=NOON, is_synchronised=True)).ok
    assert clock_finding(ClockFacts(now=NOON, is_synchronised=None)).ok


def test_where_intervals_stand_still_in_sleep_it_is_said() -> None:
    asleep = clock_finding(ClockFacts(now=NOON, counts_sleep=False))
    assert asleep.ok
    assert "sleeps" in asleep.message


# --- home and disk ---


def home(**more: Any) -> dict[str, MachineFinding]:
    facts: dict[str, Any] = {
        "path": "/home/a/j",
        "place": "/home/a/j",
        "free_bytes": 81_000_000_000,
    }
    facts |= {"sync_s": 0.003, "filesystem": "ext4", **more}
    return {one.name: one for one in home_findings(HomeFacts(**facts))}


def test_a_good_home_is_three_good_lines() -> None:
    assert {name: (one.ok, one.message) for name, one in home().items()} == {
        "home": (True, "/home/a/j: can be written to"),
        "file system": (True, "the home is on ext4"),
        "disk": (True, "81 GB free; what is written is safe after 3 ms"),
    }


def test_a_home_to_be_made_says_where() -> None:
    found = home(exists=False, place="/home/a")
    assert found["home"] == MachineFinding(
        "home", True, True, "/home/a/j: will be made (in /home/a)"
    )


def test_a_home_that_cannot_be_used_is_needed_and_nothing_more_is_said() -> None:
    assert home(fault="it is not a folder") == {
        "home": MachineFinding("home", False, True, "/home/a/j: it is not a folder")
    }
    assert home(path="", fault="no such user")["home"].message == "no such user"


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("tmpfs", "lost when this machine is switched off"),
        ("nfs4", "on another machine"),
        ("cifs", "on another machine"),
        ("overlay", "inside a container"),
    ],
)
def test_a_file_system_that_may_lose_sessions_is_a_note(kind: str, words: str) -> None:
    one = home(filesystem=kind)["file system"]
    assert (one.ok, one.needed) == (False, False)
    assert words in one.message
    assert "--home" in one.message


def test_a_file_system_that_is_not_known_is_not_told_of() -> None:
    assert "file system" not in home(filesystem="")


@pytest.mark.parametrize(
    ("free", "ok", "words"),
    [
        (19_999_999, False, "only 19 MB free for /home/a/j"),
        (20_000_000, True, "20 MB free"),
        (999, False, "only 999 bytes free"),
        (0, False, "only 0 bytes free"),
    ],
)
def test_a_disk_that_is_nearly_full_is_not_enough(free: int, ok: bool, words: str) -> None:
    one = home(free_bytes=free)["disk"]
    assert (one.ok, one.needed) == (ok, True)
    assert words in one.message


def test_a_slow_disk_is_told_and_serves() -> None:
    one = home(sync_s=1.25)["disk"]
    assert one.ok
    assert "after 1.2 s. That is slow" in one.message
    assert "slow" not in home(sync_s=0.499)["disk"].message


def test_a_free_space_that_cannot_be_told_is_left_out() -> None:
    assert home(free_bytes=None)["disk"] == MachineFinding(
        "disk", True, True, "what is written is safe after 3 ms"
    )


# --- the terminal ---


def terminal(**more: Any) -> MachineFinding:
    facts: dict[str, Any] = {"columns": 80, "rows": 24, "kind": "xterm", **more}
    return terminal_finding(TerminalFacts(is_terminal=True, **facts))


def test_a_usual_terminal_is_good() -> None:
    assert terminal() == MachineFinding("terminal", True, False, "80 columns, 24 rows, utf-8")


def test_without_a_terminal_a_session_runs() -> None:
    one = terminal_finding(TerminalFacts(is_terminal=False))
    assert one.ok
    assert "--plain" in one.message


@pytest.mark.parametrize(
    ("columns", "rows", "ok", "words"),
    [
        (60, 20, True, "All fits at 80 by 24"),
        (79, 24, True, "All fits at 80 by 24"),
        (59, 24, False, "at least 60 by 20"),
        (80, 19, False, "at least 60 by 20"),
        (0, 0, True, "0 columns"),  # a terminal that does not tell its size
    ],
)
def test_a_small_terminal_says_how_large_it_should_be(
    columns: int, rows: int, ok: bool, words: str
) -> None:
    one = terminal(columns=columns, rows=rows)
    assert one.ok is ok
    assert words in one.message


@pytest.mark.parametrize(
    ("encoding", "hidden"),
    [
        ("utf-8", ""),
        ("ascii", "for micro, degree, plus-minus, three dots, lines, large figures"),
        ("latin-1", "for three dots, lines, large figures"),  # ISO 8859-1 has µ ° ± of them
        ("no-such-encoding", "for micro, degree"),
    ],
)
def test_what_the_encoding_cannot_show_is_named(encoding: str, hidden: str) -> None:
    one = terminal(encoding=encoding)
    assert one.message.isascii()
    assert one.ok is not bool(hidden)
    assert hidden in one.message
    assert not hidden or "LANG=C.UTF-8" in one.message


def test_a_terminal_that_cannot_draw_is_told_of() -> None:
    assert "use --plain" in terminal(kind="dumb").message
    assert not terminal(kind="dumb").ok


# --- Python ---


def test_python_and_packages_are_needed() -> None:
    good = python_findings(PythonFacts(version=(3, 11, 0)))
    assert [(one.name, one.ok, one.needed) for one in good] == [
        ("python", True, True),
        ("packages", True, True),
        ("extras", True, False),
    ]
    old = python_findings(PythonFacts(version=(3, 10, 14), missing=frozenset({"serial", "rich"})))
    assert not any(one.ok for one in old[:2])
    assert "Python 3.11 or newer" in old[0].message
    assert "`pip install rich pyserial`" in old[1].message


def test_a_package_that_only_some_things_need_is_a_note_of_its_own() -> None:
    found = python_findings(PythonFacts(version=(3, 12, 1), missing=frozenset({"pandas"})))
    assert [(one.ok, one.needed) for one in found] == [
        (True, True),
        (True, True),
        (False, False),
        (True, False),
    ]
    assert "pip install pandas" in found[2].message
    assert "daq.load" in found[2].message


def test_each_extra_is_told_with_its_use_there_or_not() -> None:
    (there,) = python_findings(PythonFacts(version=(3, 12, 1)))[2:]
    assert "workbooks" in there.message
    assert "Parquet" in there.message
    assert "PDF" in there.message
    some, pdf = python_findings(PythonFacts(version=(3, 12, 1), missing=frozenset({"weasyprint"})))[
        2:
    ]
    assert (some.ok, pdf.ok, pdf.needed) == (True, False, False)
    assert "PDF" not in some.message
    assert "`pip install 'journalbridge[pdf]'`; with it `jbridge sheet` makes a PDF" in pdf.message
    missing = frozenset({"weasyprint", "openpyxl", "pyarrow"})
    none = python_findings(PythonFacts(version=(3, 12, 1), missing=missing))[2:]
    assert [one.ok for one in none] == [False, False, False]
    assert "journalbridge[formats]" in none[0].message


def test_a_library_that_a_pdf_needs_is_told_where_its_package_is_there() -> None:
    lacking = PythonFacts(version=(3, 12, 1), pdf_libraries=("libpango-1.0.so.0",))
    there, found = python_findings(lacking)[2:]
    assert there.ok
    assert "PDF" not in there.message
    assert not found.ok
    assert "does not find libpango-1.0.so.0" in found.message
    assert "libpangoft2-1.0-0" in found.message
    without = PythonFacts(
        version=(3, 12, 1), missing=frozenset({"weasyprint"}), pdf_libraries=("libpango-1.0.so.0",)
    )
    assert len(python_findings(without)) == 4
