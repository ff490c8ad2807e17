"""A disk that takes no more, played by a limit on file size: what is said of the last reading is
true, and nothing is left lying about where nothing was stored.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.system.conftest import Call, Program, Shop

GOOD = ("59.980 mm", "59.981 mm", "59.982 mm", "59.980 mm")


def lines(folder: Path) -> list[bytes]:
    return (folder / "ledger.jsonl").read_bytes().splitlines(keepends=True)


def whole_run(program: Program, shop: Shop) -> None:
    shop.check(program)
    shop.press(program, *GOOD)
    shop.check(program)


@pytest.fixture
def sizes(shop: Shop) -> list[int]:
    """Where the lines of a whole session end; the folder is put aside."""
    program = shop.measure()
    whole_run(program, shop)
    assert program.end() == 0
    ends, end = [], 0
    for line in lines(shop.session):
        end += len(line)
        ends.append(end)
    shop.session.rename(shop.session.with_name("measured"))
    return ends


def press_until_it_ends(shop: Shop, program: Program) -> list[dict[str, Any]]:
    """All presses of a session, whatever becomes of them; the events acknowledged."""
    for value in ("59.970 mm", "59.970 mm", *GOOD, "59.970 mm", "59.970 mm"):
        before = len(program.events)
        shop.gauge.send(value)
        try:
            program.wait_for_next()
        except AssertionError:
            break
        if program.events[-1].get("kind") == "check_reading" and _is_second(program.events):
            try:
                program.wait_for("check_judged")
            except AssertionError:
                break
        assert len(program.events) > before
    assert program.end() == 4
    return [event for event in program.events if "kind" in event]


def _is_second(events: list[dict[str, Any]]) -> bool:
    number = events[-1]["check_no"]
    kinds = [e for e in events if e.get("kind") == "check_reading" and e["check_no"] == number]
    return len(kinds) == 2


@pytest.mark.parametrize("spare", [0, 100, -1])
@pytest.mark.parametrize("line", [3, 6, 11])
def test_not_kept_is_said_of_a_reading_that_is_not_there(
    shop: Shop, call: Call, sizes: list[int], line: int, spare: int
) -> None:
    """The limit lies behind some line, and inside the next: as far as its line feed, for -1."""
    limit = sizes[line] - 1 if spare < 0 else sizes[line - 1] + spare
    program = shop.measure(file_bytes=limit)
    acknowledged = press_until_it_ends(shop, program)
    assert any("was NOT kept" in text for text in program.talk), program.talk
    assert [json.loads(text) for text in lines(shop.session)] == acknowledged
    assert any("The session stays open" in text for text in program.talk)
    assert call("verify", str(shop.session)).returncode == 0
    again = shop.resume()
    assert again.events[-1]["torn_bytes"] == 0
    again.type("abandon enough")
    assert again.end() == 1


@pytest.mark.parametrize("limit", [0, 1, 700])
def test_a_session_that_cannot_be_begun_leaves_no_folder(shop: Shop, limit: int) -> None:
    where = shop.home.parent / "new" / "session"
    program = shop.run(
        *("measure", str(shop.plan), "--session", str(where)),
        *("--port", shop.gauge.port, "--profile", str(shop.profile)),
        file_bytes=limit,
    )
    assert program.end() == 4
    program.wait_for_talk("begin again")
    assert not where.parent.exists()
