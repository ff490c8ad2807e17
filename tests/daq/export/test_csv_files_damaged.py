"""Twenty ways in which tables are damaged or edited by hand: the program's own verification refuses
each, and a reader of the metadata all that is no longer what the metadata says.
"""

import shutil
import warnings
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from daq.export.csv_files import table_files
from daq.export.dialect import DIALECTS
from daq.services.verify import verify
from tests.builders import ONE, Bench, opened, tables_of
from tests.daq.export.test_datapackage import faults_of
from tests.daq.export.test_tables_study import PLAN as STUDY

Edit = Callable[[bytes], bytes]


def swap(old: str, new: str) -> Edit:
    """The first `old` made `new`."""

    def edit(data: bytes) -> bytes:
        assert old.encode() in data, old
        return data.replace(old.encode(), new.encode(), 1)

    return edit


def lines(change: Callable[[list[bytes]], list[bytes]]) -> Edit:
    """The lines of a file changed."""
    return lambda data: b"".join(change(data.splitlines(keepends=True)))


def without_column(data: bytes) -> bytes:
    """The fourth column cut out; no cell before it is quoted."""
    return b"".join(
        b",".join([*line.split(b",")[:3], *line.split(b",")[4:]])
        for line in data.splitlines(keepends=True)
    )


# Damage: the file, what becomes of it, who must see it beside `verify`, which sees each.
CSVW, FRICTIONLESS = "csvw", "frictionless"
DAMAGES: Mapping[str, tuple[str, Edit, str]] = {
    "a digit of a value": ("readings.csv", swap("59.980,mm", "59.990,mm"), FRICTIONLESS),
    "a decimal comma": ("journals.csv", swap("59.97806", '"59,97806"'), CSVW),
    "a thousands sign": ("readings.csv", swap("59.980,mm", "59 980,mm"), CSVW),
    "a row left out": ("readings.csv", lines(lambda all_: all_[:2] + all_[3:]), FRICTIONLESS),
    "a row twice": ("readings.csv", lines(lambda all_: [*all_, all_[-1]]), CSVW),
    "rows in another order": (
        "checks.csv",
        lines(lambda all_: [all_[0], *all_[:0:-1]]),
        FRICTIONLESS,
    ),
    "a journal renamed": ("journals.csv", swap(",0047,007,", ",M1,007,"), CSVW),
    "a group taken out": ("groups.csv", lines(lambda all_: all_[:2]), CSVW),
    "rows of another session": ("steps.csv", swap("20261125T080000Z-test", "x"), CSVW),
    "a column left out": ("judgements.csv", without_column, CSVW),
    "a header renamed": ("journals.csv", swap("smallest_mm", "smallest"), FRICTIONLESS),
    "a number rubbed out": ("readings.csv", swap(",59.980,mm,", ",,mm,"), CSVW),
    "a time as a spreadsheet shows it": (
        "notes.csv",
        swap("2026-11-25T08:00:08.000000Z", "25.11.2026 08:00"),
        CSVW,
    ),
    "a day as a spreadsheet shows it": ("steps.csv", swap("2026-11-25", "25/11/2026"), CSVW),
    "TRUE for true": ("steps.csv", swap(",true,", ",TRUE,"), CSVW),
    "leading zeros lost": ("sessions.csv", swap(",0047,", ",47,"), FRICTIONLESS),
    "bytes joined to a number": ("readings.csv", swap("hex 35 39 2e", "35392e"), CSVW),
    "saved in an eight-bit encoding": (
        "readings.csv",
        lambda data: data.decode().encode("cp1252", errors="replace"),
        CSVW,
    ),
    "cut in the middle of a row": ("judgements.csv", lambda data: data[: len(data) // 2], CSVW),
    "line ends of another system": (
        "readings.csv",
        lambda data: data.replace(b"\r\n", b"\n"),
        FRICTIONLESS,
    ),
}


def test_there_are_twenty_of_them() -> None:
    assert len(DAMAGES) == 20


@pytest.fixture
def copy(folder: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(folder, tmp_path / "s"))


def is_valid_csvw(folder: Path) -> bool:
    """Whether the library of the W3C metadata finds nothing against a folder."""
    import csvw

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it gathers its own
        try:
            found = csvw.CSVW(str(folder / "csv-metadata.json"), validate=True)
            return bool(found.is_valid)
        except (ValueError, KeyError, AssertionError):
            return False


def test_csvw_accepts_real_output(folder: Path) -> None:
    assert is_valid_csvw(folder)


@pytest.mark.parametrize(("plan", "dialect"), [(ONE, "comma"), (STUDY, "plain")])
def test_csvw_accepts_a_plan_without_groups_and_a_study(
    tmp_path: Path, plan: str, dialect: str
) -> None:
    bench = Bench.new(tmp_path / "s", opened(plan, job="", operator="")).press("59.970", "59.970")
    bench.press(*["59.980"] * (4 if plan == STUDY else 2), "59.970", "59.970").close()
    made = table_files(tables_of(bench), "x", "accepted", "0" * 64, DIALECTS[dialect])
    for name, data in made.items():
        (tmp_path / name).write_bytes(data)
    assert is_valid_csvw(tmp_path)


@pytest.mark.parametrize("damage", DAMAGES)
def test_it_is_refused(copy: Path, damage: str) -> None:
    name, edit, seen_by = DAMAGES[damage]
    (copy / name).write_bytes(edit((copy / name).read_bytes()))
    assert any(fault.startswith(name) for fault in verify(copy).faults)
    if seen_by == CSVW:  # who sees what else: tests/system/spreadsheet/test_damaged.py
        assert not is_valid_csvw(copy)


def test_frictionless_sees_by_size_and_digest_what_keeps_the_types(copy: Path) -> None:
    """One run of it for all damages that are left to it, the first of each file."""
    changed = []
    for name, edit, seen_by in DAMAGES.values():
        if seen_by == FRICTIONLESS and name not in changed:
            (copy / name).write_bytes(edit((copy / name).read_bytes()))
            changed.append(name)
    assert changed == ["readings.csv", "checks.csv", "journals.csv", "sessions.csv"]
    faults = " ".join(faults_of(copy))
    assert faults.count("hash") >= len(changed)
