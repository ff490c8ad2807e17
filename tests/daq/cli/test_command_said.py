"""A printed command can be read and typed: no terminal breaks it inside a word."""

import shlex

import pytest

from daq.cli.command_said import command_lines

ID = "20261125T080000Z-kqwe"
WORDS = ["jbridge", "export", ID, "--home", "'/srv/crank shop/home'", "--even-rejected"]


@pytest.mark.parametrize("width", range(28, 120))
def test_no_line_is_wider_than_the_terminal_and_a_shell_reads_the_same_command(width: int) -> None:
    # The widest word is the quoted home, 22 characters; with four of indent and two of " \\" 28.
    said = command_lines(WORDS, width)
    assert all(len(line) <= width for line in said.split("\n"))
    assert sum(ID in line for line in said.split("\n")) == 1
    as_a_shell_joins = said.replace("\\\n", "")  # POSIX, Shell Command Language 2.2.1
    assert shlex.split(as_a_shell_joins) == shlex.split(" ".join(WORDS))


def test_an_id_of_the_home_fits_a_terminal_of_forty_columns() -> None:
    assert command_lines(["jbridge", "resume", ID], 40) == f"  jbridge resume {ID}"


def test_a_word_that_is_too_wide_stands_on_a_line_of_its_own() -> None:
    path = "/home/ada/" + "a" * 60
    assert command_lines(["jbridge", "resume", path], 40) == f"  jbridge resume \\\n    {path}"


def test_where_nobody_looks_it_is_one_line() -> None:
    assert command_lines(WORDS, None) == "  " + " ".join(WORDS)


def test_control_characters_do_not_reach_the_terminal() -> None:
    assert command_lines(["jbridge", "resume", "a\x1b[2J"], None) == "  jbridge resume a?[2J"
