"""Between the closing line and the tables: cut there, interrupted there, carried on there."""

import random
import signal
import time
from pathlib import Path

import pytest

from tests.builders import accepted, bodies_of, rejected, resealed, still_open
from tests.system.conftest import Call, Shop

NAMES = {
    "readings.csv",
    "checks.csv",
    "judgements.csv",
    "journals.csv",
    "groups.csv",
    "csv-metadata.json",
}
GOOD = ("59.980 mm", "59.981 mm", "59.982 mm", "59.980 mm")


def test_resume_of_a_closed_session_without_its_tables_writes_them(
    tmp_path: Path, call: Call
) -> None:
    folder = accepted(tmp_path / "s").folder
    ledger = (folder / "ledger.jsonl").read_bytes()
    done = call("resume", str(folder))
    assert done.returncode == 0, done.stderr
    assert "this session was closed, but its tables were not all written" in done.stderr
    assert "accepted" in done.stdout
    assert {path.name for path in folder.iterdir()} >= NAMES
    assert (folder / "ledger.jsonl").read_bytes() == ledger
    assert call("verify", str(folder)).returncode == 0
    again = call("resume", str(folder))
    assert again.returncode == 2
    assert "a closed session is final" in again.stderr


def test_tables_written_in_part_are_completed_by_resume(tmp_path: Path, call: Call) -> None:
    folder = accepted(tmp_path / "s").folder
    call("export", str(folder))
    for name in ("csv-metadata.json", "groups.csv"):
        (folder / name).unlink()
    assert call("resume", str(folder)).returncode == 0
    assert {path.name for path in folder.iterdir()} >= NAMES


def test_a_rejected_session_has_no_tables_to_write(tmp_path: Path, call: Call) -> None:
    folder = rejected(tmp_path / "s").folder
    done = call("resume", str(folder))
    assert done.returncode == 2
    assert "a closed session is final" in done.stderr
    assert not NAMES & {path.name for path in folder.iterdir()}


def test_part_files_of_a_cut_go_with_the_next_export(tmp_path: Path, call: Call) -> None:
    folder = accepted(tmp_path / "s").folder
    for name in (".readings.csv.0a1b2c3d.part", ".csv-metadata.json.ffff0000.part"):
        (folder / name).write_bytes(b"half")
    mine = folder / ".mine.part"
    mine.write_bytes(b"mine")
    assert call("export", str(folder)).returncode == 0
    assert [path.name for path in folder.glob(".*.part")] == [mine.name]


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_interrupted_right_behind_the_closing_line_the_tables_are_finished(
    shop: Shop, number: signal.Signals
) -> None:
    dice = random.Random(number)
    codes = set()
    for number_of_tries in range(1, 41):
        program = shop.measure()
        shop.check(program)
        shop.press(program, *GOOD)
        shop.check(program)
        program.wait_for("closed")
        time.sleep(dice.random() * 0.03 / number_of_tries)
        program.interrupt(number)
        codes.add(program.end())
        assert {path.name for path in shop.session.iterdir()} >= NAMES, program.talk
        assert not list(shop.session.glob(".*.part"))
        assert not any("stays open" in text for text in program.talk)
        shop.session.rename(shop.session.with_name(f"done-{dice.random()}"))
        if number_of_tries >= 6 and 130 in codes:
            break
    # Once the interpreter itself ends, all is done, and the system's own answer to a signal holds.
    assert codes <= {0, 130, -number}
    assert 130 in codes


@pytest.mark.parametrize("forged", ["NaN", "Infinity"])
def test_a_forged_number_ends_in_words_and_1_in_every_command(
    tmp_path: Path, call: Call, forged: str
) -> None:
    folder = still_open(tmp_path / "s").folder
    path = folder / "ledger.jsonl"
    bodies = bodies_of(path.read_bytes())
    bodies[5] = bodies[5].replace(b'"value":"59.980"', f'"value":"{forged}"'.encode())
    path.write_bytes(resealed(bodies))
    for command in ("verify", "export", "budget", "study", "resume"):
        done = call(command, str(folder))
        assert done.returncode == 1, (command, done.stderr)
        assert "line 6" in done.stderr
        assert "Traceback" not in done.stderr
