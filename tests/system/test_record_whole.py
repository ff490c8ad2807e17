"""A folder whose ledger lost its end is refused by each command, before any port is touched."""

from pathlib import Path

import pytest

import daq
from daq.errors import LedgerDamaged
from tests.builders import accepted
from tests.system.conftest import Call

COMMANDS = ("verify", "export", "budget", "study", "resume")


@pytest.fixture
def session(tmp_path: Path, call: Call) -> Path:
    folder = accepted(tmp_path / "s").folder
    assert call("export", str(folder)).returncode == 0
    return folder


def restored(session: Path, lines: int) -> None:
    """An old copy of the ledger put back, as a sync tool does it."""
    path = session / "ledger.jsonl"
    old = path.with_name("old")
    old.write_bytes(b"".join(path.read_bytes().splitlines(keepends=True)[:lines]))
    old.rename(path)


@pytest.mark.parametrize("lines", [4, 21])
def test_every_reader_sees_an_old_copy_put_back(session: Path, call: Call, lines: int) -> None:
    restored(session, lines)
    before = {path.name: path.read_bytes() for path in session.iterdir()}
    for command in COMMANDS:
        more = ("--port", "/dev/no-such-gauge") if command == "resume" else ()
        done = call(command, str(session), *more)
        assert done.returncode == 1, (command, done.stderr)
        assert f"line {lines + 1} is missing" in done.stderr
        assert "restore the folder from a copy" in done.stderr.lower()
        assert "Traceback" not in done.stderr
    with pytest.raises(LedgerDamaged):
        daq.load(session)
    assert {path.name: path.read_bytes() for path in session.iterdir()} == before


def test_altered_tables_are_told_by_verify_and_by_export_which_writes_them_again(
    session: Path, call: Call
) -> None:
    path = session / "journals.csv"
    good = path.read_bytes()
    path.write_bytes(good.replace(b"59.97", b"59.99"))
    assert call("verify", str(session)).returncode == 1
    done = call("export", str(session))
    assert done.returncode == 0
    assert "journals.csv" in done.stderr
    assert "written again" in done.stderr
    assert path.read_bytes() == good
    assert call("export", str(session)).stderr == ""


def test_a_folder_in_which_nothing_was_stored_is_said_to_be_so(tmp_path: Path, call: Call) -> None:
    (tmp_path / "ledger.jsonl").write_bytes(b'{"seq":1,"at":"2026-')
    for command in COMMANDS:
        done = call(command, str(tmp_path))
        assert done.returncode == 2, done.stderr
        assert "nothing of a session is stored here. Begin again" in done.stderr
        assert "damaged" not in done.stderr
