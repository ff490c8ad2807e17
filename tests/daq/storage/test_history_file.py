"""The history file on the disk: kept for good, never twice, never lost for a failed write."""

import os
import resource
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import filelock
import pytest
from pytest_mock import MockerFixture

from daq.errors import HistoryError, HistoryNotWritten
from daq.gauges.history import NoteRecord, StudyRecord, history_name
from daq.storage import history_file as record
from daq.storage.history_file import append, append_check, append_study, history_path, read
from daq.storage.history_lines import found_in
from tests.daq.gauges.history_builders import DAY_US, FIRST_US, adjusted, check
from tests.places import ROOT

NAME = "mic-50-75"


def study(source: str = "s1", sd: str = "0.00034") -> StudyRecord:
    return StudyRecord(
        source=source,
        gauge=NAME,
        device="usb-1",
        repeatability_mm=sd,
        repeatability_dof="60",
        reproducibility_mm="0.0002",
    )


def test_a_gauge_that_nobody_checked_has_an_empty_history_and_no_file(tmp_path: Path) -> None:
    assert read(NAME, tmp_path).lines == ()
    assert list(tmp_path.iterdir()) == []


def test_checks_studies_and_notes_are_kept_in_order_of_time(tmp_path: Path) -> None:
    assert append_check(NAME, tmp_path, FIRST_US + DAY_US, check("59.971"))
    assert append_study(NAME, tmp_path, FIRST_US + 2 * DAY_US, study())
    assert append_check(NAME, tmp_path, FIRST_US, check("59.970", source="s0"))
    history = read(NAME, tmp_path)
    assert [at for at, _ in history.checks] == [FIRST_US, FIRST_US + DAY_US]
    assert history.study == study()
    assert history.faults == ()


def test_a_sessions_check_is_kept_once_however_often_it_is_handed_in(tmp_path: Path) -> None:
    first = check("59.971", source="20261125T080000Z-test", check_no=1)
    second = check("59.971", source="20261125T080000Z-test", check_no=2)
    assert append(NAME, tmp_path, [(FIRST_US, first), (FIRST_US, first)]) == 1
    assert append(NAME, tmp_path, [(FIRST_US, first), (FIRST_US, second)]) == 1
    assert not append_check(NAME, tmp_path, FIRST_US, second)
    assert len(read(NAME, tmp_path).lines) == 2


def test_every_prove_is_a_check_of_its_own(tmp_path: Path) -> None:
    assert append_check(NAME, tmp_path, FIRST_US, check("59.971"))
    assert append_check(NAME, tmp_path, FIRST_US, check("59.971"))


def test_the_same_study_is_kept_once_and_a_corrected_one_beside_it(tmp_path: Path) -> None:
    assert append_study(NAME, tmp_path, FIRST_US, study())
    assert not append_study(NAME, tmp_path, FIRST_US + 1, study())
    assert append_study(NAME, tmp_path, FIRST_US + 2, study(sd="0.00040"))
    kept = read(NAME, tmp_path).study
    assert kept is not None
    assert kept.repeatability_mm == "0.00040"


def test_a_study_does_not_outlive_an_adjustment(tmp_path: Path) -> None:
    append(NAME, tmp_path, [(FIRST_US, study()), (FIRST_US + 1, adjusted())])
    assert read(NAME, tmp_path).study is None


def test_a_half_last_line_is_moved_aside_before_anything_is_added(tmp_path: Path) -> None:
    append_check(NAME, tmp_path, FIRST_US, check("59.971"))
    path = history_path(NAME, tmp_path)
    with path.open("ab") as file:
        file.write(b'{"n":2,"at":"2026')
    append_check(NAME, tmp_path, FIRST_US + 1, check("59.972"))
    assert len(found_in(path.read_bytes()).lines) == 2
    assert found_in(path.read_bytes()).faults == ()
    (aside,) = path.parent.glob("*.bin")
    assert aside.name == f"{NAME}.torn-before-2.bin"
    assert aside.read_bytes() == b'{"n":2,"at":"2026'


def test_a_lost_line_feed_is_given_back(tmp_path: Path) -> None:
    append_check(NAME, tmp_path, FIRST_US, check("59.971"))
    path = history_path(NAME, tmp_path)
    path.write_bytes(path.read_bytes()[:-1])
    append_check(NAME, tmp_path, FIRST_US + 1, check("59.972"))
    found = found_in(path.read_bytes())
    assert (len(found.lines), found.faults) == (2, ())


def test_nothing_that_stands_is_written_over_by_an_append_after_damage(tmp_path: Path) -> None:
    for place in range(3):
        append_check(NAME, tmp_path, FIRST_US + place, check("59.971"))
    path = history_path(NAME, tmp_path)
    harmed = path.read_bytes().replace(b"59.971", b"59.981", 1)
    path.write_bytes(harmed)
    append_check(NAME, tmp_path, FIRST_US + 9, check("59.972"))
    assert path.read_bytes().startswith(harmed)
    history = read(NAME, tmp_path)
    assert history.faults == ("line 1 is damaged: it is not used",)
    assert len(history.lines) == 3


def test_damage_in_the_last_line_does_not_put_the_next_one_in_doubt(tmp_path: Path) -> None:
    append_check(NAME, tmp_path, FIRST_US, check("59.971"))
    append_check(NAME, tmp_path, FIRST_US + 1, check("59.972"))
    path = history_path(NAME, tmp_path)
    path.write_bytes(path.read_bytes().replace(b"59.972", b"59.982", 1))
    append_check(NAME, tmp_path, FIRST_US + 2, check("59.973"))
    history = read(NAME, tmp_path)
    assert history.faults == ("line 2 is damaged: it is not used",)
    assert [c.readings for _, c in history.checks] == [("59.971",), ("59.973",)]


@contextmanager
def room_for(most_bytes: int) -> Iterator[None]:
    """A disk with so much room for any one file; a write beyond it fails."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def test_a_write_that_finds_no_room_leaves_what_stood_there(tmp_path: Path) -> None:
    append_check(NAME, tmp_path, FIRST_US, check("59.971"))
    path = history_path(NAME, tmp_path)
    before = path.read_bytes()
    with room_for(len(before) + 100), pytest.raises(HistoryNotWritten, match="could be stored"):
        append_check(NAME, tmp_path, FIRST_US + 1, check("59.972"))
    assert path.read_bytes() == before
    assert append_check(NAME, tmp_path, FIRST_US + 1, check("59.972"))


def test_a_failed_sync_is_told_and_the_record_is_not_called_stored(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    append_check(NAME, tmp_path, FIRST_US, check("59.971"))
    before = history_path(NAME, tmp_path).read_bytes()
    mocker.patch.object(os, "fdatasync", side_effect=OSError(5, "Input/output error"))
    with pytest.raises(HistoryNotWritten, match="Input/output error"):
        append_check(NAME, tmp_path, FIRST_US + 1, check("59.972"))
    assert history_path(NAME, tmp_path).read_bytes() == before


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "history").write_text("mine")
    with pytest.raises(HistoryNotWritten, match="could be stored"):
        append_check(NAME, tmp_path, FIRST_US, check("59.971"))


def test_a_history_that_cannot_be_read_is_said_with_its_path(tmp_path: Path) -> None:
    history_path(NAME, tmp_path).mkdir(parents=True)
    with pytest.raises(HistoryError, match=r"history/mic-50-75\.jsonl.*cannot be read"):
        read(NAME, tmp_path)


def test_another_program_that_holds_the_history_is_waited_for_then_named(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    mocker.patch.object(record, "LOCK_WAIT_S", 0.05)
    append_check(NAME, tmp_path, FIRST_US, check("59.971"))
    with (
        filelock.FileLock(tmp_path / "history" / f".{NAME}.lock"),
        pytest.raises(HistoryNotWritten, match="another program"),
    ):
        append_check(NAME, tmp_path, FIRST_US, check("59.972"))


def test_two_programs_that_append_at_once_lose_nothing(tmp_path: Path) -> None:
    program = (
        "import sys\nfrom pathlib import Path\n"
        "from daq.storage.history_file import append_check\n"
        "from tests.daq.gauges.history_builders import check, FIRST_US\n"
        "for n in range(1, 16):\n"
        "    append_check('mic', Path(sys.argv[1]), FIRST_US + n, "
        "check('59.971', source=sys.argv[2], check_no=n))\n"
    )
    running = [
        subprocess.Popen([sys.executable, "-c", program, str(tmp_path), source], cwd=ROOT)
        for source in ("a", "b")
    ]
    assert [process.wait(50) for process in running] == [0, 0]
    history = read("mic", tmp_path)
    assert history.faults == ()
    assert len(history.lines) == 30
    assert sorted(line.n for line in history.lines) == list(range(1, 31))


def test_a_gauges_file_gives_the_name_and_a_port_a_safe_one() -> None:
    assert history_name("mic-50-75", "/dev/ttyUSB0") == "mic-50-75"
    usb, path = history_name(None, "usb:1209:0001:A/../1"), history_name(None, "/dev/ttyUSB0")
    assert usb.startswith("port-usb_1209_0001_A_1-")
    assert path.startswith("port-dev_ttyUSB0-")
    assert all(
        set(name) <= set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-")
        for name in (usb, path)
    )


def test_two_ports_never_share_a_history() -> None:
    assert history_name(None, "usb:1:2:A/B") != history_name(None, "usb:1:2:A_B")


@pytest.mark.parametrize("device", ["/dev/pts/3", "loop://", "typed:"])
def test_a_port_that_says_nothing_of_its_gauge_has_no_history(device: str, tmp_path: Path) -> None:
    name = history_name(None, device)
    assert name == ""
    assert not append_check(name, tmp_path, FIRST_US, check("59.971"))
    assert read(name, tmp_path).lines == ()
    assert list(tmp_path.iterdir()) == []
    assert history_name("mic", device) == "mic"


def test_what_is_stored_is_on_the_disk_in_one_piece(tmp_path: Path, mocker: MockerFixture) -> None:
    synced = mocker.spy(os, "fdatasync")
    wrote = mocker.spy(os, "write")
    append(
        NAME,
        tmp_path,
        [(FIRST_US, check("59.971")), (FIRST_US, NoteRecord(about="note", text="x"))],
    )
    sizes = [len(call.args[1]) for call in wrote.call_args_list]
    assert history_path(NAME, tmp_path).stat().st_size in sizes
    assert synced.call_count == 1
    assert os.stat(history_path(NAME, tmp_path)).st_mode & 0o111 == 0
