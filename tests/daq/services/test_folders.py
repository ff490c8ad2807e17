"""One word, one session folder: paths before ids, ids before jobs, and nothing guessed."""

from pathlib import Path

import msgspec
import pytest

from daq.errors import LedgerAbsent, LedgerError
from daq.services.folders import session_command, session_folder, session_word
from tests.builders import Bench, opened

KQWE, ABCD = "20261125T080000Z-kqwe", "20261126T080000Z-abcd"


def made(folder: Path, job: str = "4711") -> Path:
    """An open session whose id is its folder's name."""
    first = msgspec.structs.replace(opened(job=job), session=folder.name)
    return Bench.new(folder, first).close().folder


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home with two sessions; the current folder is an empty one."""
    made(tmp_path / "home" / "sessions" / KQWE, "4711")
    made(tmp_path / "home" / "sessions" / ABCD, "4712/2")
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    return tmp_path / "home"


@pytest.mark.parametrize("word", [KQWE, KQWE.lower(), "kqwe", "KQWE", "Z-kqwe", "4711", "4711 "])
def test_ids_last_letters_and_jobs_find_the_folder_in_the_home(home: Path, word: str) -> None:
    assert session_folder(word, home) == home / "sessions" / KQWE


def test_a_job_with_a_slash_is_found_too(home: Path) -> None:
    assert session_folder("4712/2", home) == home / "sessions" / ABCD


def test_a_path_wins_where_a_session_lies_there(home: Path) -> None:
    made(Path("4711"))
    assert session_folder("4711", home) == Path("4711")
    made(Path(KQWE))
    assert session_folder(KQWE, home) == Path(KQWE)
    assert session_folder(f"./{KQWE}/", home) == Path(KQWE)


def test_a_folder_of_that_name_without_a_ledger_does_not_win(home: Path) -> None:
    Path("4711").mkdir()
    assert session_folder("4711", home) == home / "sessions" / KQWE


def test_a_folder_that_nothing_else_fits_is_left_to_its_reader(home: Path) -> None:
    Path("other").mkdir()
    assert session_folder("other", home) == Path("other")


def test_a_session_of_the_demo_is_found_as_well(home: Path) -> None:
    demo = made(home / "demo" / "20261127T080000Z-demo", "demo")
    assert session_folder(demo.name, home) == demo
    assert session_folder("demo", home) == demo


def test_a_whole_id_is_found_where_other_sessions_are_damaged_or_many(home: Path) -> None:
    (home / "sessions" / ABCD / "ledger.jsonl").write_bytes(b"\0" * 100)
    assert session_folder(KQWE, home) == home / "sessions" / KQWE
    assert session_folder("kqwe", home) == home / "sessions" / KQWE


def test_a_damaged_session_is_found_by_its_folders_name(home: Path) -> None:
    (home / "sessions" / ABCD / "ledger.jsonl").write_bytes(b"\0" * 100)
    assert session_folder("abcd", home) == home / "sessions" / ABCD
    (home / "sessions" / ABCD / "ledger.jsonl").unlink()
    assert session_folder(ABCD, home) == home / "sessions" / ABCD


def test_a_job_that_fits_two_sessions_names_both(home: Path) -> None:
    second = made(home / "sessions" / "20261127T080000Z-wxyz")
    with pytest.raises(LedgerError) as caught:
        session_folder("4711", home)
    said = str(caught.value)
    assert caught.value.exit_code == 2
    assert said.startswith("Session 4711: two sessions fit. Give the last four letters of the one")
    assert KQWE in said
    assert second.name in said
    assert ABCD not in said


def test_two_that_their_last_letters_do_not_tell_apart_are_asked_for_whole(home: Path) -> None:
    made(home / "sessions" / "20261127T080000Z-kqwe")
    with pytest.raises(LedgerError, match="Give the whole name of the one you mean"):
        session_folder("kqwe", home)


def test_two_folders_of_one_name_are_told_with_their_places(home: Path) -> None:
    made(home / "demo" / KQWE)
    with pytest.raises(LedgerError) as caught:
        session_folder("kqwe", home)
    assert str(home / "demo" / KQWE) in str(caught.value)
    assert str(home / "sessions" / KQWE) in str(caught.value)


def test_of_many_that_fit_the_rest_is_counted(home: Path) -> None:
    for letter in "abcdefghijk":
        made(home / "sessions" / f"20261127T080000Z-{letter * 4}", "4711")
    with pytest.raises(LedgerError) as caught:
        session_folder("4711", home)
    said = str(caught.value)
    assert "12 sessions fit" in said
    assert said.count("T080000Z") == 8
    assert "and 4 more: `jbridge sessions` lists them" in said


@pytest.mark.parametrize("word", ["nope", "", " ", ".", "..", "a/b", "qwe", "x" * 5000, "\x1b[2J"])
def test_what_fits_nothing_is_told_in_words_and_harmless(home: Path, word: str) -> None:
    if word in (".", ".."):
        assert session_folder(word, home) == Path(word)  # folders, left to their reader
        return
    with pytest.raises(LedgerAbsent, match="jbridge sessions") as caught:
        session_folder(word, home)
    assert "\x1b" not in str(caught.value)
    assert len(str(caught.value)) < 400


def test_in_an_empty_home_the_home_is_named(tmp_path: Path) -> None:
    with pytest.raises(LedgerAbsent, match=r"no sessions in .*/nowhere yet\. Is --home right\?"):
        session_folder("4711", tmp_path / "nowhere")


def test_a_hostile_job_is_shown_harmless_where_two_fit(home: Path) -> None:
    made(home / "sessions" / "20261127T080000Z-aaaa", "x\x1b[2J\u202e")
    made(home / "sessions" / "20261127T080000Z-bbbb", "x\x1b[2J\u202e")
    with pytest.raises(LedgerError) as caught:
        session_folder("x\x1b[2J\u202e", home)
    assert "job x\\x1b[2J\\u202e" in str(caught.value)
    assert all(char.isprintable() or char == "\n" for char in str(caught.value))


@pytest.mark.parametrize("below", ["sessions", "demo"])
def test_the_shortest_word_finds_the_folder_again(home: Path, below: str) -> None:
    folder = made(home / below / "20261127T080000Z-wxyz")
    assert session_word(folder, home) == folder.name
    assert session_folder(session_word(folder, home), home) == folder


def test_a_folder_elsewhere_is_found_by_its_path_alone(home: Path) -> None:
    folder = made(home.parent / "job 4711" / "s")
    assert session_word(folder, home) == str(folder)
    assert session_folder(session_word(folder, home), home) == folder


def test_a_command_names_the_home_only_where_the_shell_would_not_know_it(home: Path) -> None:
    folder = home / "sessions" / KQWE
    assert session_command("resume", folder, home, None) == ["jbridge", "resume", KQWE]
    assert session_command("resume", folder, home, "my home") == [
        *("jbridge", "resume", KQWE, "--home", "'my home'")
    ]
    assert session_command("verify", Path("my job"), home, "x") == ["jbridge", "verify", "'my job'"]
