"""What lies in a home: order, marks, faults in words, and which session a word fits."""

from pathlib import Path

import pytest

from daq.errors import LedgerError
from daq.export.csv_files import table_files, write_files
from daq.services import session_list
from daq.services.session_list import Listed, begun_text, fitting, listed, sessions_in
from tests.builders import MINUTE_US, START_US, Bench, accepted, forge, opened, rejected, tables_of


def begun(home: Path, name: str, minutes: int, below: str = "sessions") -> Path:
    """An open session that begins so many minutes after START_US."""
    bench = Bench.new(home / below / name, opened(), START_US + minutes * MINUTE_US)
    return bench.close().folder


def one(
    name: str = "20261125T080000Z-kqwe", job: str = "4711", session_id: str | None = None
) -> Listed:
    return Listed(
        folder=Path("home/sessions") / name,
        is_demo=False,
        session_id=name if session_id is None else session_id,
        job=job,
        verdict="open",
    )


def test_a_session_is_told_from_its_first_and_last_line(tmp_path: Path) -> None:
    folder = accepted(tmp_path / "s").folder
    assert listed(folder) == Listed(
        folder=folder,
        is_demo=False,
        session_id="20261125T080000Z-test",
        job="4711",
        part="No. 2",
        gauge="mic-50-75",
        begun_us=START_US,
        verdict="accepted",
    )


def test_what_lies_between_is_not_looked_at(tmp_path: Path) -> None:
    """That a session is listed proves nothing of its readings."""
    folder = accepted(tmp_path / "s").folder
    path = folder / "ledger.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([lines[0], *lines[-2:]]))
    assert listed(folder).verdict == "accepted"


def test_open_ones_first_then_faults_then_the_newest_and_the_demos_last(tmp_path: Path) -> None:
    begun(tmp_path, "open-old", 0)
    begun(tmp_path, "open-new", 10)
    accepted(tmp_path / "sessions" / "closed")
    rejected(tmp_path / "sessions" / "rejected", opened())
    (tmp_path / "sessions" / "empty").mkdir()
    begun(tmp_path, "demo-open", 20, "demo")
    found = [(each.folder.name, each.verdict, each.is_demo) for each in sessions_in(tmp_path)]
    assert found == [
        ("open-new", "open", False),
        ("open-old", "open", False),
        ("empty", "unreadable", False),
        ("closed", "accepted", False),  # of two that began in the same minute by their name
        ("rejected", "rejected", False),
        ("demo-open", "open", True),
    ]


def test_a_home_that_is_not_there_holds_nothing(tmp_path: Path) -> None:
    assert sessions_in(tmp_path / "nowhere") == []


def test_files_and_hidden_folders_are_no_sessions(tmp_path: Path) -> None:
    (tmp_path / "sessions" / ".stuff").mkdir(parents=True)
    (tmp_path / "sessions" / "note.txt").write_text("x")
    assert sessions_in(tmp_path) == []


def test_a_place_that_is_no_folder_is_said_to_be_so(tmp_path: Path) -> None:
    (tmp_path / "sessions").write_text("x")
    with pytest.raises(LedgerError, match="cannot be listed: Not a directory"):
        sessions_in(tmp_path)


def test_a_damaged_first_line_is_a_fault_in_words(tmp_path: Path) -> None:
    folder = begun(tmp_path, "s", 0)
    path = folder / "ledger.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"job":"4711"', b'"job":"4712"', 1))
    (found,) = sessions_in(tmp_path)
    assert (found.verdict, found.job, found.begun_us) == ("damaged", "", None)
    assert "line 1 does not carry the digest" in found.fault


def test_a_damaged_last_line_leaves_what_the_first_says(tmp_path: Path) -> None:
    folder = begun(tmp_path, "s", 0)
    path = folder / "ledger.jsonl"
    path.write_bytes(path.read_bytes()[:-1] + b"J")
    (found,) = sessions_in(tmp_path)
    assert (found.verdict, found.job) == ("damaged", "4711")


def test_a_newer_format_is_unreadable_not_damaged(tmp_path: Path) -> None:
    Bench.new(tmp_path / "sessions" / "s", opened(format=99)).close()
    (found,) = sessions_in(tmp_path)
    assert found.verdict == "unreadable"
    assert "format 99" in found.fault


def test_tables_beside_a_ledger_without_its_closing_line_are_damage(tmp_path: Path) -> None:
    folder = begun(tmp_path, "s", 0)
    (folder / "readings.csv").write_text("")
    (found,) = sessions_in(tmp_path)
    assert found.verdict == "damaged"
    assert "readings.csv was written" in found.fault


def test_tables_of_another_ledger_are_damage(tmp_path: Path) -> None:
    bench = accepted(tmp_path / "s")
    files = table_files(
        tables_of(bench), bench.state.opened.session, "accepted", bench.manager.chain
    )
    write_files(bench.folder, files)
    assert listed(bench.folder).verdict == "accepted"
    forge(bench.folder, b'"operator":"Ada"', b'"operator":"Bob"')
    assert listed(bench.folder).verdict == "damaged"


def test_a_ledger_that_cannot_be_read_is_unreadable(tmp_path: Path) -> None:
    ledger = begun(tmp_path, "s", 0) / "ledger.jsonl"
    ledger.unlink()
    ledger.symlink_to(ledger)  # whom root may not follow either
    (found,) = sessions_in(tmp_path)
    assert found.verdict == "unreadable"
    assert "Too many levels of symbolic links" in found.fault


def test_begun_is_local_time_to_the_minute(monkeypatch: pytest.MonkeyPatch) -> None:
    import time

    monkeypatch.setenv("TZ", "XST-2")  # two hours east of Greenwich, as POSIX counts
    time.tzset()
    try:
        assert begun_text(START_US) == "2026-11-25 10:00"
    finally:
        monkeypatch.undo()
        time.tzset()
    assert begun_text(None) == ""


A, B = one(), one("20261126T080000Z-abcd", "A-12/3")


@pytest.mark.parametrize(
    ("word", "fits"),
    [
        ("20261125T080000Z-kqwe", [A]),
        ("20261125t080000z-KQWE", [A]),
        ("kqwe", [A]),
        ("KQWE", [A]),
        ("Z-kqwe", [A]),
        ("qwe", []),  # three letters name too much by chance
        ("abc", []),
        ("4711", [A]),
        (" 4711 ", [A]),
        ("A-12/3", [B]),
        ("a-12/3", [B]),
        ("471", []),
        ("47111", []),
        ("20261125", []),  # the beginning of an id is no end of one
        ("", []),
        ("  ", []),
    ],
)
def test_which_session_a_word_fits(word: str, fits: list[Listed]) -> None:
    assert fitting(word, [A, B]) == fits


def test_a_job_of_two_sessions_fits_both() -> None:
    second = one("20261126T080000Z-abcd")
    assert fitting("4711", [A, second]) == [A, second]


def test_a_job_as_it_is_spelt_goes_before_one_in_other_letters() -> None:
    small, large = one(job="a1"), one("20261126T080000Z-abcd", "A1")
    assert fitting("A1", [small, large]) == [large]
    small, large = one(job="aB"), one("20261126T080000Z-abcd", "Ab")
    assert fitting("ab", [small, large]) == [small, large]


def test_last_letters_and_a_job_that_both_fit_are_two() -> None:
    other = one("20261126T080000Z-abcd", "kqwe")
    assert fitting("kqwe", [A, other]) == [A, other]


def test_a_whole_id_goes_before_a_job_of_that_name() -> None:
    other = one("20261126T080000Z-abcd", job=A.session_id)
    assert fitting(A.session_id, [other, A]) == [A]


def test_a_folder_of_that_name_goes_before_another_with_that_id() -> None:
    rescued = one("20261125T080000Z-kqwe.rescued-1", session_id=A.session_id)
    assert fitting(A.session_id, [rescued, A]) == [A]
    assert fitting("kqwe", [rescued, A]) == [rescued, A]
    assert fitting(rescued.folder.name, [rescued, A]) == [rescued]


def test_sessions_without_a_job_are_not_found_by_an_empty_word() -> None:
    assert fitting("", [one(job="")]) == []


def test_the_places_are_those_where_sessions_are_made() -> None:
    from daq.services.opening import NewSession

    assert NewSession.__struct_defaults__[-1] == session_list.SESSIONS
