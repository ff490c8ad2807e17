"""The owner of a session: stored first, true only then; each line folded once."""

import os
from pathlib import Path

import pytest
from pytest_mock import MockerFixture

from daq.acquisition.manager import SessionManager
from daq.errors import LedgerError, LedgerLocked, LedgerNotWritten, Refused
from daq.record import advance
from daq.rules.commands import Abandon, Back, Keep, Note, TakeReading, TimePassed
from daq.storage.replay import load_state
from tests.builders import MAINS, ONE, START_US, Bench, accepted, opened, reading, setup


def test_a_step_holds_the_entries_and_their_lines_as_they_stand_in_the_file(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE))
    step = bench.press("59.970", "59.970").steps[-1]
    assert [entry.seq for entry in step.entries] == [4, 5]  # the reading, the judgement
    stored = (tmp_path / "s" / "ledger.jsonl").read_bytes().splitlines()
    assert list(step.lines) == stored[-2:]
    bench.close()


def test_what_was_not_stored_did_not_happen(tmp_path: Path, mocker: MockerFixture) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970")
    before = bench.state
    mocker.patch("os.write", side_effect=OSError(28, "No space left on device"))
    with pytest.raises(LedgerNotWritten, match="No space left"):
        bench.say(TakeReading(reading("59.970")))
    assert bench.state is before
    mocker.stopall()
    bench.close()
    replayed, _ = load_state(tmp_path / "s")
    assert len(replayed.checks) == 1


def test_an_interrupt_in_the_middle_of_storing_lets_nothing_more_be_stored(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    """The line is on the disk and the state does not know of it: one more would take its number."""
    bench = Bench.new(tmp_path / "s", opened(ONE)).press("59.970")
    mocker.patch("daq.storage.chained_file.sync_data", side_effect=KeyboardInterrupt)
    with pytest.raises(KeyboardInterrupt):
        bench.say(TakeReading(reading("59.970")))
    mocker.stopall()
    with pytest.raises(LedgerNotWritten, match="an earlier write failed"):
        bench.say(Note("after all"))
    bench.close()
    replayed, _ = load_state(tmp_path / "s")
    assert len(replayed.checks) == 2


def test_a_refusal_changes_nothing_and_stores_nothing(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE))
    before, size = bench.state, os.path.getsize(tmp_path / "s" / "ledger.jsonl")
    for command in (Keep(), Back()):
        with pytest.raises(Refused):
            bench.say(command)
    assert bench.state is before
    assert os.path.getsize(tmp_path / "s" / "ledger.jsonl") == size
    bench.close()


def test_a_command_that_leads_to_nothing_is_no_step(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s", opened(ONE))
    step = bench.say(TimePassed())
    assert (step.entries, step.lines) == ((), ())
    bench.close()


def test_each_line_is_folded_once(tmp_path: Path, mocker: MockerFixture) -> None:
    """A whole session: readings, checks, a held one kept, a new stint, the closing line."""
    folds = mocker.spy(advance, "evolve")
    bench = accepted(tmp_path / "s")
    lines = sum(len(step.entries) for step in bench.steps)
    assert folds.call_count == lines - 1  # the first line is what the fold begins with


def test_a_folder_that_exists_is_refused_and_untouched(tmp_path: Path) -> None:
    (tmp_path / "s").mkdir()
    with pytest.raises(LedgerError, match="exists already"):
        Bench.new(tmp_path / "s")
    assert list((tmp_path / "s").iterdir()) == []


def test_one_session_has_one_owner(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s").press("59.970", "59.970", *MAINS[:1])
    with pytest.raises(LedgerLocked):
        SessionManager.resume(tmp_path / "s", setup(), START_US, None)
    bench.close()
    again = Bench.again(tmp_path / "s", bench.now_us)
    assert again.state.standing == bench.state.standing
    again.close()


def test_a_closed_session_is_final_and_its_lock_is_given_back(tmp_path: Path) -> None:
    accepted(tmp_path / "s")
    for _ in range(2):
        with pytest.raises(Refused, match="measure the part again in a new one"):
            Bench.again(tmp_path / "s", START_US)


def test_done_means_closed_or_open_with_no_stint(tmp_path: Path) -> None:
    bench = Bench.new(tmp_path / "s")
    done = [bench.manager.is_done]
    for command in (Note("a remark"), Abandon("the lamp is out")):
        bench.say(command)
        done.append(bench.manager.is_done)
    assert done == [False, False, True]
    bench.close()
    bench.close()  # as often as you like
