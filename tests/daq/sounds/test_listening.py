"""A run heard from its boards: by programs on the path, by the bell, or not at all, in words."""

import os
import sys
from pathlib import Path

import pytest

from daq.acquisition.manager import Step
from daq.acquisition.session_run import Show
from daq.board.board import Board
from daq.board.of_session import first_shown, next_shown
from daq.rules.commands import LoseLink, TakeReading
from daq.sounds import listening
from daq.sounds.listening import SoundShow
from daq.sounds.tones import length_s, wav
from daq.sounds.waiting import Sounding
from tests.builders import ONE, SECOND_US, Bench, opened, reading

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="scripts of a shell")

NOTHING = Step((), ())


@pytest.fixture
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The only folder where programs are looked for."""
    folder = tmp_path / "bin"
    folder.mkdir()
    monkeypatch.setenv("PATH", str(folder))
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    monkeypatch.setattr("tempfile.tempdir", None)
    return folder


def offered(folder: Path, name: str, script: str) -> None:
    (folder / name).write_text(f"#!/bin/sh\nPATH=/bin:/usr/bin\n{script}\n")
    (folder / name).chmod(0o755)


def boards(folder: Path) -> list[Board]:
    """A first board, one with a reading of the stack, one with the link lost."""
    bench = Bench.new(folder / "s", opened(ONE))
    shown = [first_shown(bench.state, bench.now_us)]
    for command in (
        TakeReading(reading("59.970", bench.now_us + SECOND_US)),
        LoseLink("unplugged"),
    ):
        step = bench.say(command)
        shown.append(next_shown(shown[-1], step.entries, bench.state, bench.now_us))
    return [each.board for each in shown]


def test_tones_and_words_come_from_programs_on_the_path_and_leave_nothing(
    path: Path, tmp_path: Path
) -> None:
    offered(path, "aplay", 'cp "$2" "${0%/*}/$(basename "$2")"; stat -c %a "${2%/*}" >> "$0.mode"')
    offered(path, "espeak-ng", 'echo "$*: $(cat)" >> "$0.said"')
    told: list[str] = []
    show: Show = SoundShow(True, True, told.append)
    first, *others = boards(tmp_path)
    show.begun(first)
    show.step(first, NOTHING)
    show.streamed(reading("1.0"))
    show.advice("a hint")
    for board in others:
        show.step(board, NOTHING)
    assert isinstance(show, SoundShow)
    show.end()
    assert (path / "gauge-lost.wav").read_bytes() == wav("gauge-lost")
    assert set((path / "aplay.mode").read_text().split()) == {"700"}
    said = (path / "espeak-ng.said").read_text().splitlines()
    assert said[-1] == "-v en --stdin: Gauge lost."
    assert told == []
    assert list(tmp_path.glob("jbridge-*")) == []


def test_where_nothing_plays_or_speaks_that_is_told_once_and_the_run_goes_on(
    path: Path, tmp_path: Path
) -> None:
    told: list[str] = []
    show = SoundShow(True, True, told.append, "tlh")
    for board in boards(tmp_path):
        show.step(board, NOTHING)
    show.refused("no reading is in question")
    show.end()
    assert told == [
        "No program that plays sounds was found, so nothing is heard. "
        "Install sox or alsa-utils to hear them.",
        "Nothing can be spoken in 'tlh' yet, so English is spoken.",
        "No program that speaks was found, so nothing is spoken. Install espeak-ng.",
    ]


class Put:
    """Stands in for the players: what would be played."""

    def __init__(self) -> None:
        self.soundings: list[Sounding] = []

    def put(self, sounding: Sounding) -> None:
        self.soundings.append(sounding)

    def end(self, patience_s: float) -> None:
        """Nothing runs."""


def test_a_board_shown_twice_sounds_once_and_a_refusal_asks_for_a_look(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    sounds, voice = Put(), Put()
    monkeypatch.setattr(listening, "_Sounds", lambda tell: sounds)
    monkeypatch.setattr(listening, "_voice", lambda language, tell: voice)
    show = SoundShow(True, True, lambda text: None)
    first, kept, lost = boards(tmp_path)
    for board in (first, first, kept, kept, lost):
        show.shown(board)
    show.refused("no reading is in question")
    assert [sounding.what for sounding in sounds.soundings] == ["kept", "gauge-lost", "look"]
    assert [sounding.what for sounding in voice.soundings] == [
        "Stack five nine point nine seven zero.",
        "five nine point nine seven zero. Stack again.",
        "Gauge lost.",
        "Not done.",
    ]
    # The words begin when the tone is over.
    assert [sounding.after_s for sounding in voice.soundings] == [
        0.0,
        length_s("kept"),
        length_s("gauge-lost"),
        length_s("look"),
    ]


def test_only_what_is_asked_for_is_made(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(listening, "_Sounds", lambda tell: pytest.fail("no sound was asked for"))
    monkeypatch.setattr(listening, "_voice", lambda *_: pytest.fail("no speech was asked for"))
    show = SoundShow(False, False, lambda text: None)
    for board in boards(tmp_path):
        show.step(board, NOTHING)
    show.refused("nothing")
    show.end()


def test_the_bell_is_the_last_way_on_a_terminal(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A reading rings once; a lost link three times."""
    ours, theirs = os.openpty()
    monkeypatch.setattr(listening, "_BELL_REST_S", 0.0)
    told: list[str] = []
    with open(theirs, "w") as terminal, open(ours, "rb", buffering=0) as screen:
        monkeypatch.setattr(sys, "stderr", terminal)
        show = SoundShow(True, False, told.append)
        for board in boards(tmp_path):
            show.step(board, NOTHING)
        show.end()
        assert screen.read(64) == b"\a" * 4
    assert told == [
        "No program that plays sounds was found, so the terminal's bell is rung. "
        "Install sox or alsa-utils to hear them."
    ]
