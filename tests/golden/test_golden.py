"""Ledgers of released versions: read for ever, and the same tables derived from them to the byte.

Each was made once (see make.py) and its lines and tables were read through by hand.
"""

import shutil
from decimal import Decimal
from pathlib import Path

import pytest

import daq
from daq.export.csv_files import files_of
from daq.record.events import AnyEvent, Closed
from daq.services.verify import verify
from daq.storage.ledger import scan
from daq.storage.replay import load_state

VERSIONS = sorted(path.parent for path in Path(__file__).parent.glob("v*/ledger.jsonl"))
TABLES = ["readings.csv", "checks.csv", "judgements.csv", "journals.csv"]
V0_1_0 = Path(__file__).parent / "v0.1.0"

golden = pytest.mark.parametrize("folder", VERSIONS, ids=[path.name for path in VERSIONS])


def test_the_first_version_is_kept() -> None:
    assert V0_1_0 in VERSIONS


@golden
def test_the_tables_are_derived_byte_for_byte(folder: Path) -> None:
    state, found = load_state(folder)
    assert state.closed is not None
    derived = files_of(state, found)
    of_groups = ["groups.csv"] if state.closed.rules > 1 else []
    of_session = ["steps.csv", "sessions.csv", "notes.csv", "datapackage.json"]
    later = of_session if state.closed.rules > 2 else []
    assert list(derived) == [*TABLES, *of_groups, *later, "csv-metadata.json"]
    for name in derived:
        assert derived[name] == (folder / name).read_bytes(), name


@golden
def test_every_kind_of_line_is_read(folder: Path) -> None:
    kinds = {type(entry.event) for entry in scan(folder).entries}
    assert kinds == set(AnyEvent.__args__)


@golden
def test_nothing_is_wrong_with_it(folder: Path, tmp_path: Path) -> None:
    shutil.copytree(folder, tmp_path / "s")
    found = verify(tmp_path / "s")
    assert found.faults == ()
    assert found.verdict == "accepted"


def test_the_session_of_0_1_0_says_what_was_worked_by_hand() -> None:
    found = scan(V0_1_0)
    assert len(found.entries) == 45
    assert found.chain == "d336fe6f7a483143403af35aa4f898107c7ee604fd1ec03decfa1232553f78dc"
    closed = found.entries[-1].event
    assert isinstance(closed, Closed)
    first, second = closed.journals
    # Places front/0 59.980, front/90 59.98 kept with a lost digit, rear/0 59.979; rear/90 skipped.
    # A form limit of 0.005 is under four steps of 0.01.
    assert (first.verdict, first.smallest_mm, first.form_verdict) == (
        "incomplete",
        "59.979",
        "undecided",
    )
    # 1.99880 in * 25.4 = 50.769520, under 50.780 - 0.002
    assert (second.verdict, second.smallest_mm, second.margin_to_low_mm) == (
        "below",
        "50.769520",
        "-0.010480",
    )
    session = daq.load(V0_1_0, exact=True)
    # 1.99925 and 1.99920 in on 50.780: +0.00095 and -0.00032, mean 0.000315, half-even 0.00032;
    # before: -0.00032; drift 0.000635, half-even 0.00064
    last = session.judgements.iloc[-1]
    assert (last["mean_error_mm"], last["spread_mm"], last["drift_mm"]) == (
        Decimal("0.00032"),
        Decimal("0.00127"),
        Decimal("0.00064"),
    )
    assert list(session.readings["seq"]) == [8, 9, 15, 40, 41]
    assert set(session.readings["job"]) == {"=4711, Ø 60"}
