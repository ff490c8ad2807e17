"""The ledger's file: created once, appended with one write and one sync, held by one program."""

import errno
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from pytest_mock import MockerFixture

from daq.errors import LedgerError, LedgerLocked, LedgerNotWritten, LedgerTaken
from daq.record.events import CheckRead, Entry, Held, Noted, Sent
from daq.storage.ledger import Ledger, scan
from tests.builders import START_US, Bench, accepted, opened, still_open
from tests.places import ROOT

SENT = Sent("59.970", "mm", "0.001", None, (), "")
FIRST = Entry(1, START_US, opened())


def note(seq: int, text: str = "warm") -> Entry:
    return Entry(seq, START_US, Noted(about="note", text=text))


def texts(folder: Path) -> list[str]:
    return [entry.event.text for entry in scan(folder).entries if isinstance(entry.event, Noted)]


def appender(*arguments: str) -> str:
    """What the helper program prints."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.daq.storage.appender", *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=50,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.mark.parametrize("is_empty", [True, False])
def test_an_existing_folder_is_refused_and_left_alone(tmp_path: Path, is_empty: bool) -> None:
    folder = tmp_path / "s"
    folder.mkdir()
    if not is_empty:
        (folder / "mine.txt").write_text("x")
    before = sorted(folder.iterdir())
    with pytest.raises(LedgerError, match="exists already"):
        Ledger.create(folder)
    assert sorted(folder.iterdir()) == before


def test_an_existing_file_in_the_place_of_the_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "s").write_text("mine")
    with pytest.raises(LedgerError):
        Ledger.create(tmp_path / "s")
    assert (tmp_path / "s").read_text() == "mine"


def test_folders_above_are_made(tmp_path: Path) -> None:
    Ledger.create(tmp_path / "home" / "sessions" / "s").close()
    assert (tmp_path / "home" / "sessions" / "s" / "ledger.jsonl").is_file()


def test_a_folder_that_cannot_be_made_is_this_machines_failure(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(LedgerNotWritten):
        Ledger.create(tmp_path / "file" / "s")


def test_the_new_file_and_both_folders_are_synced(tmp_path: Path, mocker: MockerFixture) -> None:
    synced: list[str] = []
    real = os.fsync

    def spy(fd: int) -> None:
        synced.append(os.readlink(f"/proc/self/fd/{fd}"))
        real(fd)

    mocker.patch("os.fsync", spy)
    Ledger.create(tmp_path / "s").close()
    assert str((tmp_path / "s").resolve()) in synced
    assert str(tmp_path.resolve()) in synced


@pytest.mark.parametrize("count", [1, 2, 30])
def test_a_batch_is_one_write_then_one_sync(
    tmp_path: Path, mocker: MockerFixture, count: int
) -> None:
    ledger = Ledger.create(tmp_path / "s")
    ledger.append([FIRST])
    calls: list[str] = []
    write, sync = os.write, os.fdatasync

    def written(fd: int, data: bytes) -> int:
        calls.append("write")
        return write(fd, data)

    def synced(fd: int) -> None:
        calls.append("sync")
        sync(fd)

    mocker.patch("os.write", written)
    mocker.patch("os.fdatasync", synced)
    lines = ledger.append([note(n) for n in range(2, 2 + count)])
    assert calls == ["write", "sync"]
    assert len(lines) == count
    ledger.close()
    data = (tmp_path / "s" / "ledger.jsonl").read_bytes()
    assert data.endswith(b"".join(line + b"\n" for line in lines))


def test_every_step_of_a_session_is_one_sync(tmp_path: Path, mocker: MockerFixture) -> None:
    bench = Bench.new(tmp_path / "s")
    spy = mocker.spy(os, "fdatasync")
    bench.press("59.970")
    assert spy.call_count == 1
    bench.press("59.970")  # the last reading of the check, and its judgement with it
    assert spy.call_count == 2
    bench.close()


def test_short_writes_are_carried_on_to_the_end(tmp_path: Path, mocker: MockerFixture) -> None:
    ledger = Ledger.create(tmp_path / "s")
    real = os.write
    mocker.patch("os.write", lambda fd, data: real(fd, data[:7]))
    ledger.append([FIRST])
    ledger.append([note(2), note(3)])
    mocker.stopall()
    ledger.close()
    assert texts(tmp_path / "s") == ["warm", "warm"]


def fail_write(real: Callable[[int, bytes], int]) -> Callable[[int, bytes], int]:
    def full(fd: int, data: bytes) -> int:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    return full


def fail_half(real: Callable[[int, bytes], int]) -> Callable[[int, bytes], int]:
    """The first write of a batch takes half of it, the next one finds the disk full."""
    state = {"calls": 0}

    def half(fd: int, data: bytes) -> int:
        state["calls"] += 1
        if state["calls"] > 1:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return real(fd, data[: len(data) // 2])

    return half


@pytest.mark.parametrize("fail", [fail_write, fail_half])
def test_a_full_disk_is_told_and_nothing_more_is_taken(
    tmp_path: Path,
    mocker: MockerFixture,
    fail: Callable[[Callable[[int, bytes], int]], Callable[[int, bytes], int]],
) -> None:
    folder = tmp_path / "s"
    ledger = Ledger.create(folder)
    ledger.append([FIRST, note(2, "kept")])
    chain = ledger.chain
    mocker.patch("os.write", fail(os.write))
    with pytest.raises(LedgerNotWritten, match=r"No space left.*NOT kept"):
        ledger.append([note(3, "lost")])
    mocker.stopall()
    assert ledger.chain == chain
    with pytest.raises(LedgerNotWritten):
        ledger.append([note(3, "later")])
    ledger.close()
    again, found, _ = Ledger.open(folder)
    assert found.chain == chain
    again.append([note(3, "after")])
    again.close()
    assert texts(folder) == ["kept", "after"]


@pytest.mark.parametrize("code", [errno.EIO, errno.ENOSPC, errno.EDQUOT])
def test_a_failed_sync_is_never_acknowledged_nor_tried_again(
    tmp_path: Path, mocker: MockerFixture, code: int
) -> None:
    folder = tmp_path / "s"
    ledger = Ledger.create(folder)
    ledger.append([FIRST])
    sync = mocker.patch("os.fdatasync", side_effect=OSError(code, os.strerror(code)))
    with pytest.raises(LedgerNotWritten):
        ledger.append([note(2, "unknown")])
    assert sync.call_count == 1
    mocker.stopall()
    with pytest.raises(LedgerNotWritten):
        ledger.append([note(2)])
    ledger.close()
    again, found, torn_file = Ledger.open(folder)
    again.close()
    assert (len(found.entries), torn_file) == (1, "")


def test_after_a_failed_sync_the_line_is_cut_off_so_that_not_kept_is_true(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    folder = tmp_path / "s"
    ledger = Ledger.create(folder)
    ledger.append([FIRST, note(2, "kept")])
    before = (folder / "ledger.jsonl").read_bytes()
    mocker.patch("os.fdatasync", side_effect=OSError(errno.EIO, os.strerror(errno.EIO)))
    with pytest.raises(LedgerNotWritten, match="was NOT kept") as caught:
        ledger.append([note(3, "lost"), note(4, "lost, too")])
    assert caught.value.is_known
    ledger.close()
    assert (folder / "ledger.jsonl").read_bytes() == before


def test_where_it_cannot_be_cut_off_the_words_say_that_it_may_be_kept(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    folder = tmp_path / "s"
    ledger = Ledger.create(folder)
    ledger.append([FIRST])
    broken = OSError(errno.EIO, os.strerror(errno.EIO))
    mocker.patch("os.fdatasync", side_effect=broken)
    mocker.patch("os.ftruncate", side_effect=broken)
    with pytest.raises(LedgerNotWritten, match="may or may not be kept") as caught:
        ledger.append([note(2, "perhaps")])
    assert not caught.value.is_known
    assert "NOT kept" not in str(caught.value)
    assert caught.value.command == ("verify", folder)
    ledger.close()


@pytest.mark.parametrize(
    ("entry", "lost"),
    [
        (note(2), "What was to be stored now was NOT kept"),
        (Entry(2, START_US, CheckRead(stint=1, check_no=1, phase="before", sent=SENT)), "The last"),
        (Entry(2, START_US, Held(stint=1, reasons=(), sent=SENT)), "The last reading"),
    ],
)
def test_a_reading_is_said_to_be_lost_only_where_one_came(
    tmp_path: Path, mocker: MockerFixture, entry: Entry, lost: str
) -> None:
    ledger = Ledger.create(tmp_path / "s")
    ledger.append([FIRST])
    mocker.patch("os.fdatasync", side_effect=OSError(errno.EIO, os.strerror(errno.EIO)))
    with pytest.raises(LedgerNotWritten, match=lost):
        ledger.append([entry])
    ledger.close()


def test_of_a_session_that_was_never_begun_no_reading_is_spoken_of(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    ledger = Ledger.create(tmp_path / "s")
    mocker.patch("os.write", side_effect=OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)))
    with pytest.raises(LedgerNotWritten, match="Nothing of this session is stored") as caught:
        ledger.append([FIRST])
    assert "reading" not in str(caught.value)
    assert "begin again" in str(caught.value)
    ledger.close()


def test_a_disk_that_cannot_be_looked_at_is_no_other_programs_doing(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    ledger = Ledger.create(tmp_path / "s")
    ledger.append([FIRST])
    gone = OSError(errno.ESTALE, os.strerror(errno.ESTALE))
    mocker.patch("os.stat", side_effect=gone)  # whatever lies on that disk, the folders above too
    with pytest.raises(LedgerTaken, match="cannot be looked at: Stale file handle") as caught:
        ledger.append([note(2)])
    assert "program that did it" not in str(caught.value)
    assert "No place was found" in str(caught.value)
    ledger.close()


def test_a_cut_that_is_not_synced_is_not_relied_on(tmp_path: Path, mocker: MockerFixture) -> None:
    ledger = Ledger.create(tmp_path / "s")
    ledger.append([FIRST])
    broken = OSError(errno.EIO, os.strerror(errno.EIO))
    mocker.patch("os.fdatasync", side_effect=broken)
    mocker.patch("os.fsync", side_effect=broken)
    with pytest.raises(LedgerNotWritten, match="may or may not be kept"):
        ledger.append([note(2, "perhaps")])
    ledger.close()


@pytest.mark.parametrize("call", ["os.write", "os.fdatasync"])
def test_a_session_whose_first_line_cannot_be_stored_leaves_no_folder(
    tmp_path: Path, mocker: MockerFixture, call: str
) -> None:
    (tmp_path / "mine").mkdir()
    mocker.patch(call, side_effect=OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)))
    with pytest.raises(LedgerNotWritten, match="begin again"):
        Bench.new(tmp_path / "mine" / "below" / "s")
    assert [path.name for path in tmp_path.rglob("*")] == ["mine"]


def test_a_ledger_whose_making_fails_leaves_no_folder(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    mocker.patch("os.fsync", side_effect=OSError(errno.EIO, os.strerror(errno.EIO)))
    with pytest.raises(LedgerNotWritten):
        Ledger.create(tmp_path / "s")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("code", "fragment"),
    [
        (errno.EROFS, "read-only"),
        (errno.EACCES, "permission"),
        (errno.EPERM, "permission"),
        (errno.ENOSPC, "Free some space"),
    ],
)
def test_what_helps_goes_by_what_is_wrong(
    tmp_path: Path, mocker: MockerFixture, code: int, fragment: str
) -> None:
    mocker.patch("pathlib.Path.mkdir", side_effect=OSError(code, os.strerror(code)))
    with pytest.raises(LedgerNotWritten, match=fragment) as caught:
        Ledger.create(tmp_path / "s")
    assert ("space" in str(caught.value)) == (code == errno.ENOSPC)


def test_a_reading_that_could_not_be_stored_changes_no_state(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    bench = Bench.new(tmp_path / "s").press("59.970", "59.970", "59.980")
    before = bench.state
    mocker.patch("os.fdatasync", side_effect=OSError(errno.EIO, "io"))
    with pytest.raises(LedgerNotWritten):
        bench.press("59.981")
    assert bench.state is before
    bench.close()


@pytest.mark.parametrize("most_bytes", [4000, 4001, 4090, 5000])
def test_a_file_that_may_not_grow_any_more_keeps_what_was_acknowledged(
    tmp_path: Path, most_bytes: int
) -> None:
    folder = tmp_path / "s"
    *said, full, still = appender("fill", str(folder), str(most_bytes)).splitlines()
    acknowledged = [int(seq) for seq in said]
    assert full.startswith("full: ")
    assert "NOT kept" in full
    assert still == "still refused"
    assert len(acknowledged) > 5
    assert (folder / "ledger.jsonl").stat().st_size <= most_bytes
    ledger, found, torn_file = Ledger.open(folder)
    assert [entry.seq for entry in found.entries] == acknowledged
    assert (found.torn, found.lacks_lf, torn_file) == (b"", False, "")
    ledger.append([note(len(acknowledged) + 1, "after")])
    ledger.close()
    assert texts(folder)[-1] == "after"


def test_a_second_program_gets_locked_and_the_first_is_not_disturbed(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s").press("59.970")
    assert appender("take", str(bench.folder)).startswith("locked: ")
    bench.press("59.970")
    bench.close()
    assert appender("take", str(bench.folder)) == "opened\n"


def test_a_second_hold_in_this_program_is_locked_too(tmp_path: Path) -> None:
    ledger = Ledger.create(tmp_path / "s")
    ledger.append([FIRST])
    with pytest.raises(LedgerLocked):
        Ledger.open(tmp_path / "s")
    ledger.close()
    ledger.close()
    again, found, _ = Ledger.open(tmp_path / "s")
    assert len(found.entries) == 1
    again.close()


def test_reading_needs_no_lock(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s").press("59.970")
    assert len(scan(bench.folder).entries) == 3  # opened, stint, check_reading
    bench.close()


def test_what_is_appended_after_opening_carries_the_chain_on(tmp_path: Path) -> None:
    folder = still_open(tmp_path / "s").folder
    ledger, found, _ = Ledger.open(folder)
    assert ledger.chain == found.chain
    ledger.append([note(len(found.entries) + 1, "more")])
    ledger.close()
    assert texts(folder) == ["more"]


def test_a_closed_session_is_final(tmp_path: Path) -> None:
    folder = accepted(tmp_path / "s").folder
    before = (folder / "ledger.jsonl").read_bytes()
    from daq.errors import Refused

    with pytest.raises(Refused) as caught:
        Bench.again(folder, START_US)
    assert caught.value.code == "session-closed"
    assert (folder / "ledger.jsonl").read_bytes() == before
    ledger, _, _ = Ledger.open(folder)  # and it was given back
    ledger.close()
