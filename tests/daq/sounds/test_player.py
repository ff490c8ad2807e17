"""A program that plays: started without being waited for, given up when it hangs, told of once when
it fails, cut short where what is newer counts for more.
"""

import os
import sys
import threading
import time
from collections.abc import Sequence
from pathlib import Path

import pytest

from daq.sounds.player import MOST_WAITING, Player
from daq.sounds.programs import Way
from daq.sounds.waiting import Sounding

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="scripts of a shell")

PATIENCE_S = 20.0


class Playing:
    """A player with programs that are scripts, and what came of it. `played` is what they wrote."""

    def __init__(self, folder: Path, *, longest_s: float = 30.0, cuts: bool = False) -> None:
        self.folder = folder
        self.longest_s, self.cuts = longest_s, cuts
        self.told: list[str] = []
        self.otherwise: list[str] = []

    def way(self, name: str, script: str, *, is_by_stdin: bool = False) -> Way:
        file = self.folder / name
        file.write_text(f"#!/bin/sh\n{script}\n")
        file.chmod(0o755)
        return Way(name, str(file), is_by_stdin=is_by_stdin)

    def by(self, *ways: Way) -> Player:
        return Player(
            ways,
            self.told.append,
            sendable=str,
            otherwise=lambda sounding: self.otherwise.append(sounding.what),
            instead="nothing is heard",
            longest_s=self.longest_s,
            cuts=self.cuts,
        )

    @property
    def played(self) -> Sequence[str]:
        file = self.folder / "played"
        return file.read_text().splitlines() if file.exists() else ()

    def wait_for(self, line: str) -> None:
        until = time.monotonic() + PATIENCE_S
        while line not in self.played:
            assert time.monotonic() < until, line
            time.sleep(0.005)


@pytest.fixture
def playing(tmp_path: Path) -> Playing:
    return Playing(tmp_path)


WRITE = 'echo "$@" >> "${0%/*}/played"'
READ = 'echo "$#: $(cat)" >> "${0%/*}/played"'


def test_what_is_put_is_played_in_order_and_to_the_end(playing: Playing) -> None:
    player = playing.by(playing.way("plays", WRITE))
    player.put(Sounding("one", 1))
    player.put(Sounding("two; rm -rf $HOME `id`", 1))
    player.end(PATIENCE_S)
    assert playing.played == ["one", "two; rm -rf $HOME `id`"]
    assert (playing.told, playing.otherwise) == ([], [])


def test_a_text_by_standard_input_is_no_argument(playing: Playing) -> None:
    player = playing.by(playing.way("speaks", READ, is_by_stdin=True))
    player.put(Sounding("--version Größe", 1))
    player.end(PATIENCE_S)
    assert playing.played == ["0: --version Größe"]


def test_one_that_fails_is_told_once_and_the_next_is_used(playing: Playing) -> None:
    player = playing.by(playing.way("fails", "exit 3"), playing.way("plays", WRITE))
    player.put(Sounding("one", 1))
    player.put(Sounding("two", 1))
    player.end(PATIENCE_S)
    assert playing.played == ["one", "two"]
    assert playing.told == ["The program fails ended with code 3, so plays is used."]


def test_where_none_can_be_started_the_rest_is_done_otherwise(playing: Playing) -> None:
    player = playing.by(Way("gone", str(playing.folder / "gone")))
    player.put(Sounding("one", 1))
    player.put(Sounding("two", 1))
    player.end(PATIENCE_S)
    assert playing.otherwise == ["one", "two"]
    assert playing.told == [
        "The program gone cannot be started (No such file or directory), so nothing is heard."
    ]


def test_one_that_hangs_is_killed_with_all_its_children_and_not_used_again(tmp_path: Path) -> None:
    """A child of its own holds a pipe open for writing: whoever reads meets the pipe's end only
    when that is gone too.
    """
    playing = Playing(tmp_path, longest_s=0.2)
    os.mkfifo(tmp_path / "pipe")
    pipe = os.open(tmp_path / "pipe", os.O_RDONLY | os.O_NONBLOCK)
    hangs = playing.way("hangs", f"{WRITE}\nsleep 100 > ${{0%/*}}/pipe &\nwait")
    player = playing.by(hangs, playing.way("plays", WRITE))
    player.put(Sounding("one", 1))
    player.put(Sounding("two", 1))
    player.end(PATIENCE_S)
    assert os.read(pipe, 1) == b""
    os.close(pipe)
    assert playing.played == ["one", "one", "two"]
    assert playing.told == ["The program hangs did not end within 0.2 s, so plays is used."]


def test_what_is_no_less_urgent_cuts_what_is_spoken_and_nothing_else_does(tmp_path: Path) -> None:
    playing = Playing(tmp_path, cuts=True)
    script = f'{WRITE}\ncase "$1" in long*) exec sleep 100;; esac'
    player = playing.by(playing.way("speaks", script))
    player.put(Sounding("long", 2))
    playing.wait_for("long")
    player.put(Sounding("less", 1))
    player.put(Sounding("more", 2))
    player.end(PATIENCE_S)
    assert playing.played == ["long", "more"]  # what was overtaken is not begun any more
    assert playing.told == []


def test_few_wait_and_the_most_urgent_among_them(playing: Playing) -> None:
    waits = 'until [ -e "${0%/*}/go" ]; do sleep 0.01; done'
    player = playing.by(playing.way("plays", f"{WRITE}\n{waits}"))
    player.put(Sounding("first", 1))
    playing.wait_for("first")
    player.put(Sounding("lost", 7))
    for number in range(20):
        player.put(Sounding(f"kept {number}", 1))
    (playing.folder / "go").touch()
    player.end(PATIENCE_S)
    assert MOST_WAITING == 2
    assert playing.played == ["first", "lost", "kept 19"]


def test_what_is_prepared_beforehand_lets_what_is_wanted_pass(playing: Playing) -> None:
    """While the first of two is being made something else is put."""
    made: list[str] = []
    is_put, has_begun = threading.Event(), threading.Event()

    def sendable(what: str) -> str:
        made.append(what)
        has_begun.set()
        assert is_put.wait(PATIENCE_S)
        return what

    player = Player(
        [playing.way("plays", WRITE)],
        playing.told.append,
        sendable=sendable,
        known=("first", "second"),
        otherwise=lambda sounding: None,
        instead="nothing is heard",
        longest_s=30.0,
    )
    assert has_begun.wait(PATIENCE_S)
    player.put(Sounding("wanted", 1))
    is_put.set()
    playing.wait_for("wanted")
    player.end(PATIENCE_S)
    assert made[:2] == ["first", "wanted"]


def test_the_end_is_not_waited_for_longer_than_asked(playing: Playing) -> None:
    player = playing.by(playing.way("plays", f"{WRITE}\nexec sleep 100"))
    player.put(Sounding("one", 1))
    playing.wait_for("one")
    before = time.monotonic()
    player.end(0.0)
    assert time.monotonic() - before < PATIENCE_S
    player.put(Sounding("too late", 7))
    assert playing.played == ["one"]
    assert not [each for each in threading.enumerate() if each.name == "sounds"]
