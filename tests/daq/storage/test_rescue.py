"""What was stored gets a folder of its own: beside the session, below a refuge, or nowhere."""

import errno
import os
from pathlib import Path

import pytest
from pytest_mock import MockerFixture

from daq.storage import rescue as module
from daq.storage.ledger import LEDGER, PLAN_COPY, scan
from daq.storage.rescue import rescue
from tests.builders import still_open

NO_ROOM = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


@pytest.fixture
def data(tmp_path: Path) -> bytes:
    return (still_open(tmp_path / "made").folder / LEDGER).read_bytes()


def rescued(folder: Path, data: bytes, refuge: Path | None = None) -> Path | None:
    return rescue(folder, LEDGER, PLAN_COPY, data, refuge)


def test_it_lies_beside_the_session_with_ledger_and_plan(tmp_path: Path, data: bytes) -> None:
    place = rescued(tmp_path / "s", data)
    assert place == tmp_path / "s.rescued-1"
    assert (place / LEDGER).read_bytes() == data
    opened = scan(place).entries[0].event
    assert (place / PLAN_COPY).read_text() == getattr(opened, "plan", None)


def test_no_earlier_rescue_is_touched_be_it_a_folder_or_a_file(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "s.rescued-1").mkdir()
    (tmp_path / "s.rescued-2").write_text("mine")
    assert rescued(tmp_path / "s", data) == tmp_path / "s.rescued-3"
    assert not list((tmp_path / "s.rescued-1").iterdir())
    assert (tmp_path / "s.rescued-2").read_text() == "mine"


def test_a_folder_that_another_program_makes_in_the_same_moment_is_theirs(
    tmp_path: Path, data: bytes, mocker: MockerFixture
) -> None:
    theirs = tmp_path / "s.rescued-1"
    theirs.mkdir()
    (theirs / LEDGER).write_text("theirs")
    mocker.patch("os.path.lexists", return_value=False)  # it was not there when it was looked for
    refuge = tmp_path / "refuge"
    assert rescued(tmp_path / "s", data, refuge) == refuge / "s.rescued-1"
    assert (theirs / LEDGER).read_text() == "theirs"


def test_a_link_that_points_nowhere_takes_no_rescue(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "s.rescued-1").symlink_to(tmp_path / "elsewhere")
    place = rescued(tmp_path / "s", data)
    assert place is not None
    assert (place / LEDGER).read_bytes() == data
    assert not (tmp_path / "elsewhere").exists()


def test_without_a_place_beside_it_it_lies_below_the_refuge(tmp_path: Path, data: bytes) -> None:
    refuge = tmp_path / "home" / "sessions"
    assert rescued(tmp_path / "gone" / "s", data, refuge) == refuge / "s.rescued-1"
    assert (refuge / "s.rescued-1" / LEDGER).read_bytes() == data


def test_where_the_disk_beside_it_is_full_nothing_of_it_is_left_there(
    tmp_path: Path, data: bytes, mocker: MockerFixture
) -> None:
    mocker.patch.object(module, "add", side_effect=[NO_ROOM, None])
    refuge = tmp_path / "refuge"
    assert rescued(tmp_path / "s", data, refuge) == refuge / "s.rescued-1"
    assert not (tmp_path / "s.rescued-1").exists()


def test_a_rescue_whose_plan_could_not_be_copied_holds_all_that_counts(
    tmp_path: Path, data: bytes, mocker: MockerFixture
) -> None:
    mocker.patch.object(module, "write_whole", side_effect=NO_ROOM)
    place = rescued(tmp_path / "s", data)
    assert place == tmp_path / "s.rescued-1"
    assert (place / LEDGER).read_bytes() == data


def test_without_any_place_it_says_none(tmp_path: Path, data: bytes, mocker: MockerFixture) -> None:
    mocker.patch.object(module, "add", side_effect=NO_ROOM)
    assert rescued(tmp_path / "s", data, tmp_path / "refuge") is None
    assert not (tmp_path / "refuge" / "s.rescued-1").exists()
    assert rescued(tmp_path / "gone" / "s", data) is None
