"""The first and the last line, read alone, are what a scan of the whole ledger finds there."""

import os
from pathlib import Path

import pytest

from daq.errors import LedgerAbsent, LedgerDamaged, LedgerError, LedgerTooNew
from daq.record.events import Closed, Opened
from daq.storage import ledger_ends
from daq.storage.ledger import scan, scan_bytes
from daq.storage.ledger_ends import first_entry, last_line
from tests.builders import accepted, bodies_of, opened, resealed, still_open


@pytest.fixture(params=[1, 64 * 1024], ids=["read bit by bit", "read at once"])
def _look(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """How much of the end is looked at before it is known whether a line is whole in it."""
    monkeypatch.setattr(ledger_ends, "FIRST_LOOK_BYTES", request.param)


def placed(folder: Path, data: bytes) -> Path:
    folder.mkdir(exist_ok=True)
    (folder / "ledger.jsonl").write_bytes(data)
    return folder


@pytest.mark.usefixtures("_look")
def test_the_ends_of_a_closed_and_of_an_open_ledger_are_those_of_the_scan(tmp_path: Path) -> None:
    for folder in (accepted(tmp_path / "a").folder, still_open(tmp_path / "o").folder):
        found = scan(folder)
        assert first_entry(folder) == found.entries[0]
        last = last_line(folder)
        assert (last.entry, last.chain) == (found.entries[-1], found.chain)
    assert isinstance(last_line(tmp_path / "a").entry.event, Closed)


@pytest.mark.usefixtures("_look")
def test_any_cut_of_the_last_two_lines_gives_the_last_whole_line_or_the_same_damage(
    tmp_path: Path,
) -> None:
    data = (still_open(tmp_path / "o").folder / "ledger.jsonl").read_bytes()
    from_here = data[: data[:-1].rindex(b"\n")].rindex(b"\n")
    for kept in range(from_here, len(data) + 1, 7):
        folder = placed(tmp_path / "cut", data[:kept])
        found = scan_bytes(data[:kept], folder)
        last = last_line(folder)
        assert (last.entry, last.chain) == (found.entries[-1], found.chain)


@pytest.mark.usefixtures("_look")
@pytest.mark.parametrize("lacks", [0, 1])
def test_a_ledger_of_one_line_begins_and_ends_with_it(tmp_path: Path, lacks: int) -> None:
    data = (still_open(tmp_path / "o").folder / "ledger.jsonl").read_bytes()
    first = data[: data.index(b"\n") + 1 - lacks]
    folder = placed(tmp_path / "one", first)
    assert isinstance(last_line(folder).entry.event, Opened)
    assert last_line(folder).entry == first_entry(folder)


def test_a_changed_byte_in_the_first_or_the_last_line_is_damage(tmp_path: Path) -> None:
    folder = accepted(tmp_path / "s").folder
    data = (folder / "ledger.jsonl").read_bytes()
    placed(folder, data.replace(b'"job":"4711"', b'"job":"4712"', 1))
    with pytest.raises(LedgerDamaged, match="line 1 does not carry the digest"):
        first_entry(folder)
    assert data.count(b'"verdict":"accepted"') == 1
    placed(folder, data.replace(b'"verdict":"accepted"', b'"verdict":"Accepted"'))
    with pytest.raises(LedgerDamaged, match="its last line does not carry the digest"):
        last_line(folder)


def test_a_changed_final_line_feed_is_damage(tmp_path: Path) -> None:
    folder = still_open(tmp_path / "s").folder
    data = (folder / "ledger.jsonl").read_bytes()
    placed(folder, data[:-1] + b"J")
    with pytest.raises(LedgerDamaged, match="not its line feed"):
        last_line(folder)


@pytest.mark.usefixtures("_look")
def test_a_last_line_of_no_known_kind_is_damage(tmp_path: Path) -> None:
    folder = still_open(tmp_path / "s").folder
    bodies = bodies_of((folder / "ledger.jsonl").read_bytes())
    placed(folder, resealed([*bodies, b'{"seq":99,"at":"2026-11-25T09:00:00.000000Z","kind":"x"']))
    with pytest.raises(LedgerDamaged, match="not a record of this format"):
        last_line(folder)


@pytest.mark.usefixtures("_look")
@pytest.mark.parametrize("data", [b"", b"half a li", b"\0" * 300])
def test_where_no_line_is_whole_there_is_no_session(tmp_path: Path, data: bytes) -> None:
    folder = placed(tmp_path / "s", data)
    with pytest.raises(LedgerAbsent):
        first_entry(folder)
    with pytest.raises(LedgerAbsent):
        last_line(folder)


def test_what_is_no_plain_file_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "ledger.jsonl")
    with pytest.raises(LedgerError, match="not a plain file"):
        first_entry(tmp_path)
    with pytest.raises(LedgerAbsent):
        last_line(tmp_path / "nowhere")


def test_a_newer_format_is_said_to_be_so(tmp_path: Path) -> None:
    folder = still_open(tmp_path / "s", opened(format=99)).folder
    with pytest.raises(LedgerTooNew, match="format 99"):
        first_entry(folder)


def test_a_line_without_end_is_not_read_for_ever(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ledger_ends, "FIRST_LOOK_BYTES", 64)
    monkeypatch.setattr(ledger_ends, "MOST_LINE_BYTES", 4096)
    folder = placed(tmp_path / "s", b"x" * 100_000 + b"\n")
    with pytest.raises(LedgerDamaged, match="longer than any record"):
        last_line(folder)
