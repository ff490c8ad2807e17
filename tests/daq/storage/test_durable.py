"""Synced as the system can: the bytes of a file, the names in a folder, a file written whole."""

import errno
import os
from pathlib import Path

import pytest
from pytest_mock import MockerFixture

from daq.storage.durable import sync_data, sync_folder, write_whole


@pytest.fixture
def fd(tmp_path: Path) -> int:
    """A descriptor of a file; the test's end closes it."""
    return os.open(tmp_path / "file", os.O_WRONLY | os.O_CREAT)


def test_bytes_are_synced_without_the_times_where_the_system_can(
    fd: int, mocker: MockerFixture
) -> None:
    quick, whole = mocker.spy(os, "fdatasync"), mocker.spy(os, "fsync")
    sync_data(fd)
    os.close(fd)
    assert (quick.call_count, whole.call_count) == (1, 0)


def test_without_fdatasync_all_of_the_file_is_synced(
    fd: int, monkeypatch: pytest.MonkeyPatch, mocker: MockerFixture
) -> None:
    """As on macOS and Windows."""
    monkeypatch.delattr(os, "fdatasync")
    whole = mocker.spy(os, "fsync")
    sync_data(fd)
    os.close(fd)
    whole.assert_called_once_with(fd)


def test_a_folder_is_synced_where_it_can_be_opened(tmp_path: Path, mocker: MockerFixture) -> None:
    synced = mocker.spy(os, "fsync")
    sync_folder(tmp_path)
    assert synced.call_count == 1


def test_a_folder_that_is_none_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        sync_folder(tmp_path / "gone")
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(NotADirectoryError):
        sync_folder(tmp_path / "file")


def test_where_no_folder_can_be_opened_nothing_is_done(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, mocker: MockerFixture
) -> None:
    """As on Windows, where os.open of a folder is refused."""
    monkeypatch.delattr(os, "O_DIRECTORY")
    refused = mocker.patch("os.open", side_effect=PermissionError(errno.EACCES, "refused"))
    sync_folder(tmp_path)
    assert refused.call_count == 0


def test_two_that_write_the_same_file_at_once_do_not_share_a_temporary_name(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    """The second one comes between the first one's writing and its renaming."""
    real, inner = Path.replace, [b"second"]

    def replace(self: Path, target: Path) -> Path:
        if inner:
            write_whole(target, inner.pop())
        return real(self, target)

    mocker.patch.object(Path, "replace", replace)
    write_whole(tmp_path / "picture.svg", b"first")
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {
        "picture.svg": b"first"
    }
