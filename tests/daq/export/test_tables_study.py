"""A gauge study is about the gauge: from rule set 3 on it has no next step."""

from pathlib import Path

import daq
from daq.export.columns import GROUPS
from daq.export.csv_files import table_files, write_files
from daq.export.tables import tables
from daq.record.evolve import judged_by
from daq.services.finish import write_missing_tables
from daq.services.verify import verify
from daq.storage.whole import whole
from tests.builders import ONE, SESSION, Bench, opened, tables_of

STUDY = '[study]\noperators = ["A", "B"]\ntrials = 2\n\n[defaults]'
PLAN = ONE.replace("[defaults]", STUDY).replace("angles_deg = [0, 90]", "angles_deg = [0]")
FILES = [
    "readings.csv",
    "checks.csv",
    "judgements.csv",
    "journals.csv",
    "sessions.csv",
    "notes.csv",
]


def study(folder: Path) -> Bench:
    """One place, two operators, two trials; closed as accepted."""
    bench = Bench.new(folder, opened(PLAN)).press("59.970", "59.970")
    bench.press("59.980", "59.981", "59.980", "59.981", "59.970", "59.970").close()
    assert bench.state.closed is not None
    assert bench.state.closed.verdict == "accepted"
    return bench


def test_a_study_writes_no_groups(tmp_path: Path) -> None:
    bench = study(tmp_path / "s")
    files = table_files(tables_of(bench), SESSION, "accepted", bench.manager.chain)
    assert list(files) == [*FILES, "datapackage.json", "csv-metadata.json"]
    for name in ("datapackage.json", "csv-metadata.json"):
        assert b"groups" not in files[name]
        assert b"steps" not in files[name]


def test_the_operator_of_a_reading_is_whose_turn_it_was(tmp_path: Path) -> None:
    table = tables_of(study(tmp_path / "s"))[0]
    place = [column.name for column in table.columns].index("operator")
    assert sorted(row[place] for row in table.rows) == ["A", "A", "B", "B"]


def test_under_rule_set_2_it_had_them(tmp_path: Path) -> None:
    earlier = tables(judged_by(study(tmp_path / "s").state, 2), (), "")
    assert [table.name for table in earlier][-1] == "groups"


def test_without_groups_a_study_is_whole(tmp_path: Path) -> None:
    folder = study(tmp_path / "s").folder
    assert write_missing_tables(folder) is not None
    assert sorted(path.name for path in folder.glob("*.csv")) == sorted(FILES)
    assert verify(folder).faults == ()
    assert whole(folder)[0].closed is not None
    assert write_missing_tables(folder) is None, "nothing is missing"


def test_a_missing_table_of_a_study_is_a_fault_still(tmp_path: Path) -> None:
    bench = study(tmp_path / "s")
    files = table_files(tables_of(bench), SESSION, "accepted", bench.manager.chain)
    write_files(bench.folder, files)
    (bench.folder / "journals.csv").unlink()
    (fault,) = verify(bench.folder).faults
    assert fault.startswith("journals.csv")


def test_loaded_its_groups_are_a_frame_without_rows(tmp_path: Path) -> None:
    session = daq.load(study(tmp_path / "s").folder)
    assert len(session.groups) == 0
    assert list(session.groups.columns) == [column.name for column in GROUPS]
