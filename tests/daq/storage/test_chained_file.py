"""What a chained file's end needs before it is added to, and how it is added to."""

import os
from pathlib import Path

import pytest
from pytest_mock import MockerFixture

from daq.storage import chained_file
from daq.storage.chain import FileEnd, ending
from daq.storage.chained_file import TooManyAside, add, mend, open_to_add


def placed(folder: Path, data: bytes) -> Path:
    path = folder / "file.jsonl"
    path.write_bytes(data)
    return path


def end_of(data: bytes, last: bytes, *, is_whole: bool) -> FileEnd:
    return FileEnd(*ending(data, last, is_whole=is_whole))


def named(suffix: str) -> str:
    return f"half{suffix}.bin"


def test_an_end_in_a_whole_line_is_left_alone(tmp_path: Path, mocker: MockerFixture) -> None:
    path = placed(tmp_path, b"one\n")
    opened = mocker.spy(os, "open")
    assert mend(path, end_of(b"one\n", b"", is_whole=False), named) == ""
    assert opened.call_count == 0
    assert list(tmp_path.iterdir()) == [path]


def test_a_half_line_is_saved_beside_the_file_before_it_is_cut_off(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    data = b"one\ntw"
    path = placed(tmp_path, data)
    cut = os.ftruncate
    saved: list[bytes] = []

    def cutting(fd: int, size: int) -> None:
        saved.append((tmp_path / "half.bin").read_bytes())
        cut(fd, size)

    mocker.patch("os.ftruncate", cutting)
    assert mend(path, end_of(data, b"tw", is_whole=False), named) == "half.bin"
    assert saved == [b"tw"]
    assert path.read_bytes() == b"one\n"


def test_a_missing_line_feed_is_given_back_and_nothing_set_aside(tmp_path: Path) -> None:
    path = placed(tmp_path, b"one\ntwo")
    assert mend(path, end_of(b"one\ntwo", b"two", is_whole=True), named) == ""
    assert path.read_bytes() == b"one\ntwo\n"
    assert list(tmp_path.iterdir()) == [path]


def test_no_half_line_is_written_over_another(tmp_path: Path) -> None:
    (tmp_path / "half.bin").write_bytes(b"earlier")
    path = placed(tmp_path, b"tw")
    assert mend(path, end_of(b"tw", b"tw", is_whole=False), named) == "half-1.bin"
    assert (tmp_path / "half.bin").read_bytes() == b"earlier"


def test_when_every_name_is_taken_nothing_is_cut_off(tmp_path: Path, mocker: MockerFixture) -> None:
    mocker.patch.object(chained_file, "MOST_ASIDE", 2)
    for name in ("half.bin", "half-1.bin"):
        (tmp_path / name).write_bytes(b"earlier")
    path = placed(tmp_path, b"tw")
    with pytest.raises(TooManyAside):
        mend(path, end_of(b"tw", b"tw", is_whole=False), named)
    assert path.read_bytes() == b"tw"


def test_what_is_added_is_one_write_and_then_one_sync(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    path = placed(tmp_path, b"one\n")
    calls: list[str] = []
    write = os.write

    def written(fd: int, data: bytes) -> int:
        calls.append("write")
        return write(fd, data)

    def synced(fd: int) -> None:
        calls.append("sync")

    mocker.patch("os.write", written)
    mocker.patch.object(chained_file, "sync_data", synced)
    fd = open_to_add(path)
    add(fd, b"two\nthree\n")
    os.close(fd)
    assert calls == ["write", "sync"]
    assert path.read_bytes() == b"one\ntwo\nthree\n"


def test_a_new_file_is_made_only_where_none_is(tmp_path: Path) -> None:
    path = tmp_path / "file.jsonl"
    with pytest.raises(FileNotFoundError):
        open_to_add(path)
    os.close(open_to_add(path, os.O_CREAT | os.O_EXCL))
    with pytest.raises(FileExistsError):
        open_to_add(path, os.O_CREAT | os.O_EXCL)


def test_bytes_stay_as_they_are_where_the_system_would_change_line_feeds(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    """Windows opens files as text unless O_BINARY says otherwise; here a flag that does no harm."""
    mocker.patch.object(chained_file, "AS_BYTES", os.O_CLOEXEC)
    opened = mocker.spy(os, "open")
    os.close(open_to_add(placed(tmp_path, b"")))
    assert opened.call_args.args[1] & os.O_CLOEXEC
