"""A session folder that is not whole is seen, by whichever reader."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

import daq
from daq.errors import LedgerAbsent, LedgerDamaged
from daq.export.csv_files import table_files, write_files
from daq.storage.whole import METADATA, WRITTEN, whole
from tests.builders import Bench, accepted, opened, rejected, still_open, tables_of
from tests.places import ROOT


def with_tables(bench: Bench) -> Path:
    closed = bench.state.closed
    assert closed is not None
    session, chain = bench.state.opened.session, bench.manager.chain
    write_files(bench.folder, table_files(tables_of(bench), session, closed.verdict, chain))
    return bench.folder


@pytest.fixture
def good(tmp_path: Path) -> Path:
    """An accepted session of 22 lines with its tables."""
    return with_tables(accepted(tmp_path / "s"))


def cut(folder: Path, lines: int) -> None:
    """An old copy of the ledger, so many lines long, put back."""
    path = folder / "ledger.jsonl"
    path.write_bytes(b"".join(path.read_bytes().splitlines(keepends=True)[:lines]))


@pytest.mark.parametrize("reader", [whole, daq.load], ids=["whole", "load"])
@pytest.mark.parametrize("lines", [1, 2, 7, 21])
def test_an_old_copy_of_the_ledger_below_the_tables_is_damage(
    good: Path, lines: int, reader: Callable[[Path], object]
) -> None:
    cut(good, lines)
    with pytest.raises(LedgerDamaged, match="the closing line is not here") as caught:
        reader(good)
    assert caught.value.line == lines + 1
    assert caught.value.exit_code == 1


@pytest.mark.parametrize("left", WRITTEN)
def test_any_one_table_tells_that_the_session_was_closed(good: Path, left: str) -> None:
    cut(good, 20)
    for name in {*WRITTEN} - {left}:
        (good / name).unlink()
    with pytest.raises(LedgerDamaged, match=left):
        whole(good)


def test_metadata_of_another_chain_is_damage_also_below_a_closing_line(
    good: Path, tmp_path: Path
) -> None:
    other = accepted(tmp_path / "other", opened(operator="Eve")).folder
    shutil.copy(other / "ledger.jsonl", good)
    with pytest.raises(LedgerDamaged, match="belongs to another record"):
        whole(good)


@pytest.mark.parametrize("data", [b"", b"{", b"[" * 100_000, b'{"notes":[]}'])
def test_metadata_that_say_nothing_take_nothing_from_a_closed_ledger(
    good: Path, data: bytes
) -> None:
    (good / METADATA).write_bytes(data)
    state, _ = whole(good)
    assert state.closed is not None


def test_tables_without_a_line_of_their_ledger_are_damage(good: Path) -> None:
    cut(good, 0)
    with pytest.raises(LedgerDamaged, match="no whole line"):
        whole(good)
    (good / "ledger.jsonl").unlink()
    with pytest.raises(LedgerDamaged, match=r"there is no ledger\.jsonl"):
        whole(good)


def test_without_tables_an_empty_ledger_is_nothing_stored(tmp_path: Path) -> None:
    (tmp_path / "ledger.jsonl").write_bytes(b"")
    with pytest.raises(LedgerAbsent, match="Begin again") as caught:
        whole(tmp_path)
    assert caught.value.exit_code == 2


@pytest.mark.parametrize("make", [accepted, rejected, still_open])
def test_sessions_without_tables_are_whole(tmp_path: Path, make: Callable[[Path], Bench]) -> None:
    folder = make(tmp_path / "s").folder
    state, found = whole(folder)
    assert state.last_seq == len(found.entries)


def test_sessions_with_their_tables_are_whole(good: Path, tmp_path: Path) -> None:
    assert whole(good)[0].closed is not None
    assert whole(with_tables(rejected(tmp_path / "no")))[0].closed is not None
    for golden in (ROOT / "tests" / "golden").glob("v*"):
        assert whole(golden)[0].closed is not None
