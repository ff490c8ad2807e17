"""Which programs are found, and that what is spoken can never become an option of one."""

import sys
from pathlib import Path

import pytest

from daq.sounds.programs import ways_to_play, ways_to_speak

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="has a player of its own")


def offered(folder: Path, *names: str) -> None:
    for name in names:
        (folder / name).write_text("#!/bin/sh\n")
        (folder / name).chmod(0o755)


@pytest.fixture
def found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PATH", str(tmp_path))
    return tmp_path


def test_players_are_tried_from_the_quickest_on(found: Path) -> None:
    offered(found, "play", "aplay", "pw-play", "unheard-of")
    ways = ways_to_play()
    assert [way.name for way in ways] == ["pw-play", "aplay", "play"]
    assert ways[1].command("/tmp/x/kept.wav") == [str(found / "aplay"), "-q", "/tmp/x/kept.wav"]


def test_none_is_found_where_there_is_none(found: Path) -> None:
    assert (ways_to_play(), ways_to_speak("en")) == ([], [])


def test_what_is_spoken_comes_behind_all_options_or_on_standard_input(found: Path) -> None:
    offered(found, "spd-say", "espeak-ng", "espeak", "say")
    by_server, *others = ways_to_speak("en")
    assert by_server.command("--version")[-2:] == ["--", "--version"]
    for way in others:
        assert way.is_by_stdin
        assert "--version" not in way.command("--version")
    assert [way.name for way in others] == ["espeak-ng", "espeak", "say"]
