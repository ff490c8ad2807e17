"""Plain files are read and no more of them than they may have; nothing else is opened at all."""

import errno
import os
import socket
from pathlib import Path

import pytest
from pytest_mock import MockerFixture

from drivers.plain_file import open_plain, plain_bytes


@pytest.mark.parametrize("size", [0, 9, 10])
def test_a_file_that_is_as_long_as_it_may_be_is_read_whole(tmp_path: Path, size: int) -> None:
    path = tmp_path / "file"
    path.write_bytes(b"x" * size)
    assert plain_bytes(path, 10) == b"x" * size


@pytest.mark.parametrize(
    ("most", "said"), [(10, "0 KiB"), (2048, "2 KiB"), (3 * 1024 * 1024, "3 MiB")]
)
def test_a_longer_file_is_refused_with_its_bound(tmp_path: Path, most: int, said: str) -> None:
    path = tmp_path / "file"
    with path.open("wb") as file:
        file.truncate(most + 1)
    with pytest.raises(OSError, match=f"longer than {said}") as caught:
        plain_bytes(path, most)
    assert caught.value.errno == errno.EFBIG


def test_of_a_longer_file_no_more_is_read_than_shows_it(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    path = tmp_path / "file"
    path.write_bytes(b"x" * 100)
    opened = mocker.patch("drivers.plain_file.open_plain", return_value=path.open("rb"))
    with pytest.raises(OSError, match="longer"):
        plain_bytes(path, 10)
    opened.assert_called_once_with(path)


@pytest.mark.parametrize("kind", ["fifo", "socket", "device", "folder"])
def test_what_is_no_plain_file_is_not_even_opened(
    tmp_path: Path, mocker: MockerFixture, kind: str
) -> None:
    path = tmp_path / "odd"
    words = "pipe, a socket or a device"
    with socket.socket(socket.AF_UNIX) as line:
        match kind:
            case "fifo":
                os.mkfifo(path)
            case "socket":
                line.bind(str(path))
            case "device":
                path.symlink_to("/dev/zero")
            case _:
                path.mkdir()
                words = "Is a directory"
        opened = mocker.patch("pathlib.Path.open")
        with pytest.raises(OSError, match=words):
            open_plain(path)
    opened.assert_not_called()


def test_a_link_to_a_plain_file_is_one(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"here")
    (tmp_path / "link").symlink_to(tmp_path / "file")
    assert plain_bytes(tmp_path / "link", 10) == b"here"


def test_a_name_with_a_nul_is_an_error_of_the_system_like_any_other(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="null"):
        open_plain(tmp_path / "a\0b")
