"""A lock on an open file, and what stands in for it where there is none."""

import errno
import os
import sys
from pathlib import Path

import pytest
from pytest_mock import MockerFixture

from daq.storage.file_lock import lock_open_file


def opened(path: Path) -> int:
    return os.open(path, os.O_WRONLY | os.O_CREAT)


def test_a_second_open_file_does_not_get_the_lock_until_the_first_is_closed(tmp_path: Path) -> None:
    first, second = opened(tmp_path / "f"), opened(tmp_path / "f")
    assert lock_open_file(first)
    assert not lock_open_file(second)
    os.close(first)
    assert lock_open_file(second)
    os.close(second)


@pytest.mark.parametrize("code", [errno.ENOLCK, errno.ENOSYS, errno.EOPNOTSUPP])
def test_a_disk_that_keeps_no_locks_is_done_without(
    tmp_path: Path, mocker: MockerFixture, code: int
) -> None:
    mocker.patch("fcntl.flock", side_effect=OSError(code, os.strerror(code)))
    fd = opened(tmp_path / "f")
    assert lock_open_file(fd)
    os.close(fd)


def test_a_system_without_such_locks_is_done_without(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "fcntl", None)
    fd = opened(tmp_path / "f")
    assert lock_open_file(fd)
    os.close(fd)
