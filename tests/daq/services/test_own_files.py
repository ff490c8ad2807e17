"""A file is written where a command was told to; no file of anybody else's goes for it."""

import errno
import os
from pathlib import Path

import pytest
from pytest_mock import MockerFixture

from daq.errors import ExportError, UsageError
from daq.services.own_files import write_own

MARK = "# made here"
OWN = f"{MARK}\nfirst\n"
THEIRS = f"not ours, though it says {MARK}\n"


def write(path: Path, *, replace: bool = False) -> None:
    write_own(path, f"{MARK}\nsecond\n", mark=MARK, option="--output", replace=replace)


@pytest.mark.parametrize("before", [None, OWN])
def test_a_new_file_and_one_of_its_own_are_written(tmp_path: Path, before: str | None) -> None:
    path = tmp_path / "file"
    if before is not None:
        path.write_text(before)
    write(path)
    assert path.read_text() == f"{MARK}\nsecond\n"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("before", [THEIRS, "", MARK[:-1]])
def test_a_file_of_somebody_elses_stays_unless_replace_is_said(tmp_path: Path, before: str) -> None:
    path = tmp_path / "file"
    path.write_text(before)
    with pytest.raises(UsageError, match="--replace") as caught:
        write(path)
    assert caught.value.option == "--output"
    assert path.read_text() == before
    write(path, replace=True)
    assert path.read_text() == f"{MARK}\nsecond\n"


@pytest.mark.parametrize("kind", ["folder", "pipe", "dangling link"])
@pytest.mark.parametrize("replace", [False, True])
def test_what_is_no_plain_file_is_never_written_over(
    tmp_path: Path, kind: str, replace: bool
) -> None:
    path = tmp_path / "odd"
    match kind:
        case "folder":
            path.mkdir()
        case "pipe":
            os.mkfifo(path)
        case _:
            path.symlink_to(tmp_path / "elsewhere")
    with pytest.raises(UsageError, match="no plain file"):
        write(path, replace=replace)
    assert list(tmp_path.iterdir()) == [path]


def test_a_link_to_a_file_gives_way_and_the_file_stays(tmp_path: Path) -> None:
    path, target = tmp_path / "link", tmp_path / "target"
    target.write_text(OWN)
    path.symlink_to(target)
    write(path)
    assert not path.is_symlink()
    assert target.read_text() == OWN


def test_what_the_machine_refuses_says_what_to_do_and_leaves_the_file(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    path = tmp_path / "file"
    path.write_text(OWN)
    mocker.patch("os.fsync", side_effect=OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)))
    with pytest.raises(ExportError, match=r"No space left on device\. Free some space") as caught:
        write(path)
    assert caught.value.exit_code == 4
    assert path.read_text() == OWN
    assert list(tmp_path.iterdir()) == [path]
