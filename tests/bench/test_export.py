"""The ledgers that exports are timed on are sessions like any other."""

from pathlib import Path

import msgspec
import pytest

from bench.crank_sessions import Job
from bench.export import SHAPES, bare, entries_of, export, write_ledger
from daq.services.verify import verify
from daq.storage.whole import whole


@pytest.mark.parametrize("name", list(SHAPES))
def test_a_ledger_of_each_shape_is_a_whole_accepted_session(name: str, tmp_path: Path) -> None:
    small = msgspec.structs.replace(SHAPES[name], job=Job(tolerance=20, repeats=1, journals=1))
    ledger = write_ledger(tmp_path / "s", entries_of(small))
    assert len(bare(ledger).splitlines()) == verify(ledger).lines
    export(ledger)
    state, _ = whole(ledger)
    assert len(state.standing) == small.places
    found = verify(ledger)
    assert (found.verdict, found.faults, found.notes[1:]) == ("accepted", (), ())
