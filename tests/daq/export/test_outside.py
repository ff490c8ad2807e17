"""Files outside a session: whole or not at all, over nobody's file, in no session's folder."""

import errno
import os
from pathlib import Path

import pytest

from daq.errors import ExportError, UsageError
from daq.export import outside
from daq.export.outside import outside_folder, write_folder, write_one

FILES = {"readings.csv": b"a", "csv-metadata.json": b"{}"}


def left_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.rglob("*"))


def test_a_folder_is_made_with_all_its_files(tmp_path: Path) -> None:
    to = outside_folder(tmp_path / "new" / "deeper")
    write_folder(to / "s", FILES, replace=False)
    assert {path.name: path.read_bytes() for path in (to / "s").iterdir()} == FILES
    assert left_in(to) == ["csv-metadata.json", "readings.csv", "s"]


def test_what_is_there_is_left_unless_it_is_to_be_replaced(tmp_path: Path) -> None:
    write_folder(tmp_path / "s", FILES, replace=False)
    with pytest.raises(UsageError, match=r"is there already: .* or say --replace"):
        write_folder(tmp_path / "s", {"readings.csv": b"b"}, replace=False)
    assert (tmp_path / "s" / "readings.csv").read_bytes() == b"a"
    write_folder(tmp_path / "s", {"readings.jsonl": b"b"}, replace=True)
    assert left_in(tmp_path) == ["readings.jsonl", "s"]
    write_one(tmp_path / "s.xlsx", b"1", replace=False)
    with pytest.raises(UsageError, match="is there already"):
        write_one(tmp_path / "s.xlsx", b"2", replace=False)
    write_one(tmp_path / "s.xlsx", b"2", replace=True)
    assert (tmp_path / "s.xlsx").read_bytes() == b"2"


@pytest.mark.parametrize("other", ["ledger.jsonl", "thesis.docx", ".hidden"])
def test_a_folder_with_anything_else_in_it_is_never_replaced(tmp_path: Path, other: str) -> None:
    write_folder(tmp_path / "s", FILES, replace=False)
    (tmp_path / "s" / other).write_bytes(b"mine")
    with pytest.raises(UsageError, match=f"holds other things, like {other}"):
        write_folder(tmp_path / "s", {}, replace=True)
    assert (tmp_path / "s" / other).read_bytes() == b"mine"


def test_a_link_or_a_file_in_its_place_is_no_folder(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "s").symlink_to(tmp_path / "real")
    for replace in (True, False):
        with pytest.raises(UsageError, match="is no folder"):
            write_folder(tmp_path / "s", FILES, replace=replace)
    with pytest.raises(UsageError, match="is no plain file"):
        write_one(tmp_path / "real", b"", replace=True)
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(UsageError, match="is no folder: choose another name"):
        outside_folder(tmp_path / "file")
    with pytest.raises(UsageError, match="is no name of a folder"):
        outside_folder(Path("a\0b"))


def test_no_folder_in_or_below_a_session_is_taken_by_whatever_name(tmp_path: Path) -> None:
    session = tmp_path / "session"
    session.mkdir()
    (session / "ledger.jsonl").write_bytes(b"")
    (tmp_path / "link").symlink_to(session)
    for to in (session, session / "a" / "b", tmp_path / "link" / "a", session / ".." / "session"):
        with pytest.raises(UsageError, match="lies in a session's folder") as caught:
            outside_folder(to)
        assert caught.value.option == "--to"
    assert left_in(session) == ["ledger.jsonl"]


@pytest.mark.parametrize("what", ["fsync", "rename"])
@pytest.mark.parametrize("is_there", [True, False])
def test_on_a_full_disk_nothing_is_left_half_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, what: str, is_there: bool
) -> None:
    if is_there:
        write_folder(tmp_path / "s", FILES, replace=False)
    before = left_in(tmp_path)
    calls = []

    def full(*given: object) -> None:
        calls.append(given)
        # a rename of the old one away and back is not what fails
        if what == "fsync" or ".part" in str(given[0]):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        os.rename(str(given[0]), str(given[1]))

    owner = os if what == "fsync" else Path
    monkeypatch.setattr(owner, what, full)
    with pytest.raises(ExportError, match=r"No space left .* Free some space") as caught:
        write_folder(tmp_path / "s", {"readings.csv": b"new"}, replace=True)
    assert caught.value.exit_code == 4
    assert calls
    monkeypatch.undo()
    assert left_in(tmp_path) == before
    if is_there:
        assert (tmp_path / "s" / "readings.csv").read_bytes() == b"a"


def test_a_machine_that_refuses_is_told_of(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def read_only(*given: object, **options: object) -> None:
        raise OSError(errno.EROFS, os.strerror(errno.EROFS))

    monkeypatch.setattr(Path, "mkdir", read_only)
    with pytest.raises(ExportError, match=r"Read-only file system.*read-only disk"):
        outside_folder(tmp_path / "new")
    with pytest.raises(ExportError, match="Read-only file system"):
        write_folder(tmp_path / "s", FILES, replace=False)
    monkeypatch.setattr(outside, "write_whole", read_only)
    with pytest.raises(ExportError, match="Nothing was changed"):
        write_one(tmp_path / "s.xlsx", b"", replace=False)


def test_of_two_at_once_one_is_whole_and_the_other_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    make = outside._put_in_place

    def other_first(part: Path, path: Path, *, replace: bool) -> None:
        monkeypatch.setattr(outside, "_put_in_place", make)
        write_folder(path, {"readings.csv": b"other"}, replace=replace)
        make(part, path, replace=replace)

    for replace, stays in ((False, b"other"), (True, b"a")):
        monkeypatch.setattr(outside, "_put_in_place", other_first)
        if replace:
            write_folder(tmp_path / "s", FILES, replace=True)
        else:
            with pytest.raises(UsageError, match="is there already"):
                write_folder(tmp_path / "s", FILES, replace=False)
        assert (tmp_path / "s" / "readings.csv").read_bytes() == stays
        assert not [name for name in left_in(tmp_path) if name.startswith(".")]
