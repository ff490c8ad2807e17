"""`daq.load_many`: the frames of many sessions, of every version, in one go."""

from pathlib import Path

import msgspec
import pandas as pd
import pytest

import daq
from daq.errors import LedgerDamaged
from daq.export.csv_files import files_of, write_files
from daq.storage.ledger import scan
from tests.builders import accepted, opened, rejected, still_open
from tests.daq.export.test_tables_study import study
from tests.places import ROOT

FRAMES = ("readings", "checks", "judgements", "journals", "groups", "steps", "sessions", "notes")


def named(folder: Path, name: str, job: str = "4711", part: str = "No. 2") -> Path:
    """An accepted session of its own id, its tables beside it."""
    first = msgspec.structs.replace(opened(job=job, part=part), session=f"20261125T080000Z-{name}")
    bench = accepted(folder / name, first)
    write_files(bench.folder, files_of(bench.state, scan(bench.folder)))
    return bench.folder


def test_many_sessions_are_the_same_frames_over_all_of_them(tmp_path: Path) -> None:
    folders = [named(tmp_path, "aaaa", job="0047"), named(tmp_path, "bbbb", job="=1", part="a;b")]
    many, each = daq.load_many(folders), [daq.load(folder) for folder in folders]
    for name in FRAMES:
        one = pd.concat([getattr(session, name) for session in each], ignore_index=True)
        pd.testing.assert_frame_equal(getattr(many, name), one)
    assert many.sessions["session_id"].tolist() == [
        f"20261125T080000Z-{folder.name}" for folder in folders
    ]
    assert many.sessions["job"].tolist() == ["0047", "=1"]


def test_exact_many_have_decimals(tmp_path: Path) -> None:
    many = daq.load_many([named(tmp_path, "aaaa")], exact=True)
    assert str(many.readings["value"].iloc[0]) == "59.980"
    assert str(many.journals["smallest_mm"].iloc[0]) == "59.97875"


def test_sessions_of_every_version_and_of_every_end_go_together(tmp_path: Path) -> None:
    golden = [ROOT / "tests" / "golden" / name for name in ("v0.1.0", "v0.2.0", "v0.3.0", "v0.4.0")]
    others = [still_open(tmp_path / "o").folder, rejected(tmp_path / "r").folder]
    many = daq.load_many([*golden, *others, study(tmp_path / "study").folder])
    assert many.sessions["rule_set"].tolist() == [1, 1, 2, 3, 3, 3, 3]
    verdicts = many.sessions["session_verdict"].tolist()
    assert verdicts == [*["accepted"] * 4, "open", "rejected", "accepted"]
    assert set(many.readings["raw_hex"].str.match("[0-9a-f]+$")) == {True}
    assert many.groups["session_id"].count() == 2 * 4  # none of rule set 1 or of a study
    names = {name: list(getattr(many, name).columns) for name in FRAMES}
    assert names == {name: list(getattr(daq.load(golden[3]), name).columns) for name in FRAMES}


def test_one_folder_alone_is_one_session_and_not_its_letters(tmp_path: Path) -> None:
    folder = named(tmp_path, "aaaa")
    for given in (folder, str(folder)):
        assert len(daq.load_many(given).sessions) == 1


def test_none_at_all_are_frames_without_a_row() -> None:
    many = daq.load_many([])
    assert {len(getattr(many, name)) for name in FRAMES} == {0}
    assert many.readings["diameter_mm"].dtype == "float64"


def test_a_damaged_one_is_named(tmp_path: Path) -> None:
    good, bad = named(tmp_path, "aaaa"), named(tmp_path, "bbbb")
    path = bad / "ledger.jsonl"
    path.write_bytes(path.read_bytes().replace(b"59.982", b"59.983"))
    (bad / "readings.csv").unlink()  # so that the ledger is asked
    with pytest.raises(LedgerDamaged, match=str(bad)):
        daq.load_many([good, bad])


def test_a_table_edited_by_hand_is_not_believed(tmp_path: Path) -> None:
    folder = named(tmp_path, "aaaa")
    path = folder / "readings.csv"
    path.write_bytes(path.read_bytes().replace(b"59.980", b"59.900"))
    assert daq.load_many([folder]).readings["value"].tolist()[0] == 59.98
