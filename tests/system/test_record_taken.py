"""The ledger taken from under a running session, by what programs really do to files: the run ends
with 4 and says so, and all that was acknowledged lies in a folder of its own.
"""

import json
import os
import shutil
import signal
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.system.conftest import Call, PtyGauge, Shop

GOOD = ("59.980 mm", "59.981 mm", "59.982 mm", "59.980 mm")


def copied_and_renamed(folder: Path) -> None:
    """As a sync tool does it."""
    shutil.copy(folder / "ledger.jsonl", folder / "new")
    (folder / "new").rename(folder / "ledger.jsonl")


def unlinked(folder: Path) -> None:
    (folder / "ledger.jsonl").unlink()


def truncated(folder: Path) -> None:
    os.truncate(folder / "ledger.jsonl", 900)


def emptied(folder: Path) -> None:
    (folder / "ledger.jsonl").write_bytes(b"")


def written_into(folder: Path) -> None:
    with (folder / "ledger.jsonl").open("ab") as file:
        file.write(b"{}\n")


def linked(folder: Path) -> None:
    (folder.parent / "link").hardlink_to(folder / "ledger.jsonl")


def folder_removed(folder: Path) -> None:
    shutil.rmtree(folder)


def folder_moved(folder: Path) -> None:
    folder.rename(folder.with_name("elsewhere"))


FAULTS = [
    copied_and_renamed,
    unlinked,
    truncated,
    emptied,
    written_into,
    linked,
    folder_removed,
    folder_moved,
]


@pytest.mark.parametrize("fault", FAULTS)
def test_a_ledger_taken_away_ends_the_run_and_nothing_acknowledged_is_lost(
    shop: Shop, call: Call, fault: Callable[[Path], None]
) -> None:
    program = shop.measure()
    shop.check(program)
    shop.press(program, *GOOD[:2])
    fault(shop.session)
    shop.gauge.send(GOOD[2])
    assert program.end() == 4
    assert not [event for event in program.events if event.get("kind") == "reading"][2:]
    said = "\n".join(program.talk)
    assert "the record on the disk was changed from outside" in said
    assert "was NOT kept" in said
    assert "stays open" not in said
    rescued = shop.session.with_name("session.rescued-1")
    assert program.talk[-1] == f"  jbridge resume {rescued}"
    lines = (rescued / "ledger.jsonl").read_bytes().splitlines()
    assert [json.loads(line) for line in lines] == program.events
    assert (rescued / "plan.toml").read_text() == shop.plan.read_text()
    assert call("verify", str(rescued)).returncode == 0
    shop.session = rescued
    again = shop.resume()
    shop.check(again)
    shop.press(again, *GOOD[2:])
    shop.check(again)
    assert again.end() == 0
    assert again.result["verdict"] == "accepted"


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_nothing_good_is_said_of_a_ledger_that_is_gone_when_a_run_is_interrupted(
    shop: Shop, number: signal.Signals
) -> None:
    program = shop.measure()
    shop.check(program)
    folder_removed(shop.session)
    program.interrupt(number)
    assert program.end() == 4
    assert "stays open" not in "\n".join(program.talk)
    assert (shop.session.with_name("session.rescued-1") / "ledger.jsonl").is_file()


def test_without_a_place_beside_the_folder_the_rescue_lies_below_the_home(shop: Shop) -> None:
    above = shop.home.parent / "away"
    above.mkdir()
    shop.session = above / "session"
    program = shop.measure()
    shop.check(program)
    shutil.rmtree(above)
    shop.gauge.send(GOOD[0])
    assert program.end() == 4
    lines = (shop.home / "sessions" / "session.rescued-1" / "ledger.jsonl").read_bytes()
    assert [json.loads(line) for line in lines.splitlines()] == program.events
    assert program.talk[-1] == f"  jbridge resume session.rescued-1 --home {shop.home}"


def test_an_earlier_rescue_is_never_written_over(shop: Shop) -> None:
    first = shop.session.with_name("session.rescued-1")
    first.mkdir()
    program = shop.measure()
    unlinked(shop.session)
    shop.gauge.send("59.970 mm")
    assert program.end() == 4
    assert list(first.iterdir()) == []
    assert (shop.session.with_name("session.rescued-2") / "ledger.jsonl").is_file()


def test_a_deleted_lock_file_lets_no_second_writer_in(shop: Shop, call: Call) -> None:
    program = shop.measure()
    shop.check(program)
    before = (shop.session / "ledger.jsonl").read_bytes()
    (shop.session / ".lock").unlink()
    other = PtyGauge()
    held = call("resume", str(shop.session), "--port", other.port, "--same-gauge", "moved")
    other.unplug()
    assert held.returncode == 4
    assert "another program has it open" in held.stderr
    assert (shop.session / "ledger.jsonl").read_bytes() == before
    shop.press(program, *GOOD)
    shop.check(program)
    assert program.end() == 0
    assert call("verify", str(shop.session)).returncode == 0
