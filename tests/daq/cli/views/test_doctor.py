"""Findings about a machine, as lines for people."""

from daq.cli.views.doctor import finding_lines, summary
from daq.services.doctor.finding import MachineFinding

GOOD = MachineFinding("python", True, True, "3.11.2")
NOTE = MachineFinding("file system", False, False, "on tmpfs")
MISSING = MachineFinding("home", False, True, "/x: it is not a folder: choose another with --home")


def test_each_finding_has_its_mark_its_name_and_ends_in_a_full_stop() -> None:
    assert finding_lines([GOOD, NOTE, MISSING], 100) == [
        "ok    python       3.11.2.",
        "note  file system  on tmpfs.",
        "MEND  home         /x: it is not a folder: choose another with --home.",
    ]


def test_long_lines_are_broken_at_words_below_their_beginning() -> None:
    (text,) = finding_lines([MISSING], 50)
    assert text.splitlines() == [
        "MEND  home         /x: it is not a folder: choose",
        "                   another with --home.",
    ]


def test_a_hostile_message_moves_no_cursor() -> None:
    (text,) = finding_lines([MachineFinding("port", False, False, "x\x1b[2J\n\u202ey")], 100)
    assert text.isprintable()


def test_the_last_line_says_what_it_comes_to() -> None:
    assert summary([GOOD, NOTE]) == "Nothing that a session needs is missing."
    assert summary([GOOD, MISSING, MISSING]).startswith("2 to mend before a session")
