"""What each library says of each damage, and of tables with a decimal comma: too slow for every
day, as one of them takes half a second a look.
"""

import shutil
from pathlib import Path

import pytest

from daq.export.csv_files import table_files
from daq.export.dialect import COMMA
from tests.builders import tables_of
from tests.daq.export.test_csv_files_damaged import CSVW, DAMAGES, is_valid_csvw
from tests.daq.export.test_datapackage import faults_of
from tests.daq.export.test_tables_study import study


@pytest.mark.parametrize("damage", DAMAGES)
def test_frictionless_refuses_every_damage(folder: Path, tmp_path: Path, damage: str) -> None:
    copy = Path(shutil.copytree(folder, tmp_path / "s"))
    name, edit, seen_by = DAMAGES[damage]
    (copy / name).write_bytes(edit((copy / name).read_bytes()))
    assert faults_of(copy) != []
    assert is_valid_csvw(copy) is (seen_by != CSVW)


def test_frictionless_accepts_a_study_without_groups_with_a_decimal_comma(tmp_path: Path) -> None:
    bench = study(tmp_path / "s")
    made = table_files(tables_of(bench), "x", "accepted", bench.manager.chain, COMMA)
    for name, data in made.items():
        (tmp_path / name).write_bytes(data)
    assert b"59,980" in made["readings.csv"]
    assert faults_of(tmp_path) == []
