"""On a terminal a long line is broken between words; in a file or a pipe it stays whole."""

import io
import os
import shutil
import sys
from pathlib import Path

import pytest

from daq.cli.app import run
from daq.cli.for_readers import folded, for_readers
from tests.builders import accepted

NOTE = 'Note: typed = "twice" in the plan\'s [defaults] asks for each value twice.'
ID = "20261125T080000Z-kqwe"


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("width", range(20, 90))
def test_no_line_is_wider_than_the_terminal_and_no_word_is_broken(width: int) -> None:
    text = f"{NOTE}\n    M1: 59.980 to 60.000 mm; to carry on: jbridge resume {ID}"
    said = folded(text, width)
    assert all(len(line) <= max(width, len(ID) + 6) for line in said.split("\n"))
    assert (
        said.split() == f"{NOTE} M1: 59.980 to 60.000 mm; to carry on: jbridge resume {ID}".split()
    )


def test_lines_that_go_on_hang_by_two_and_short_ones_stay_as_they_are() -> None:
    table = "place    mm\n  M1  59.98\n\n  M2 is below"
    assert folded(table, 12) == "place    mm\n  M1  59.98\n\n  M2 is\n    below"


def test_a_path_that_is_too_wide_can_still_be_copied() -> None:
    path = "/home/ada/" + "a" * 60
    assert folded(f"Written: {path}", 40) == f"Written:\n  {path}"


def test_only_a_terminal_gets_lines_of_its_width(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shutil, "get_terminal_size", lambda: os.terminal_size((40, 20)))
    assert for_readers(NOTE, io.StringIO()) == NOTE
    assert "\n" in for_readers(NOTE, Terminal())


@pytest.mark.parametrize("command", ["verify", "export", "budget"])
def test_what_is_said_of_a_session_is_broken_between_words(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shutil, "get_terminal_size", lambda: os.terminal_size((50, 20)))
    terminal = Terminal()
    monkeypatch.setattr(sys, "stdout", terminal)
    monkeypatch.chdir(accepted(tmp_path / "s").folder.parent)
    assert run([command, "s"]) == 0
    said = terminal.getvalue()
    assert any(line.startswith("  ") for line in said.splitlines())
    assert max(map(len, said.splitlines())) <= 50
