"""The file by which a folder is tried: it is gone again, however the trial ends."""

import errno
from pathlib import Path

import pytest
from pytest_mock import MockerFixture

from daq.services.doctor.probe import sync_seconds


def test_a_folder_is_as_it_was(tmp_path: Path) -> None:
    (tmp_path / "mine").write_text("kept")
    assert 0 <= sync_seconds(tmp_path) < 60
    assert [path.name for path in tmp_path.iterdir()] == ["mine"]


@pytest.mark.parametrize("end", [OSError(errno.EIO, "broken"), KeyboardInterrupt()])
def test_what_fails_leaves_nothing_behind(
    tmp_path: Path, mocker: MockerFixture, end: BaseException
) -> None:
    mocker.patch("daq.services.doctor.probe.sync_data", side_effect=end)
    with pytest.raises(type(end)):
        sync_seconds(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_what_is_written_is_really_made_durable(tmp_path: Path, mocker: MockerFixture) -> None:
    data = mocker.patch("daq.services.doctor.probe.sync_data")
    names = mocker.patch("daq.services.doctor.probe.sync_folder")
    sync_seconds(tmp_path)
    assert data.call_count == 1
    names.assert_called_once_with(tmp_path)


def test_a_folder_that_is_not_there_is_an_error_of_the_system(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        sync_seconds(tmp_path / "none")
