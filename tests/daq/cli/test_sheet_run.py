"""A sheet can be made after any line of a record, and is held against that line."""

from daq.cli.sheet_run import page_of
from daq.sheet.seal import seal_of
from daq.storage.ledger import scan
from daq.storage.replay import replay_entries
from tests.places import ROOT


def test_after_any_line_there_is_a_sheet() -> None:
    folder = ROOT / "tests" / "golden" / "v0.3.0"
    entries = scan(folder).entries
    for line in range(1, len(entries) + 1, 6):
        state = replay_entries(entries[:line], folder)
        found = seal_of(page_of(state, line, "ab" * 32, "both", None))
        assert found is not None
        assert (found.line, found.units, found.is_unchanged) == (line, "both", True)


def test_a_unit_that_nobody_can_ask_for_is_the_plans_own() -> None:
    folder = ROOT / "tests" / "golden" / "v0.3.0"
    state = replay_entries(scan(folder).entries, folder)
    odd = page_of(state, 54, "ab" * 32, "furlong", None)
    assert "59.970-59.990" in odd
    assert "~" not in odd.partition("<main>")[2]
