"""Tables are read, not derived, where they say exactly what the ledger gives, and only there."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

import daq
from daq.export.csv_files import csv_bytes, files_of, write_files
from daq.export.kept_tables import kept_cells
from daq.storage.ledger import scan
from tests.builders import Bench, accepted, opened, still_open, tables_of
from tests.places import ROOT


def with_tables(bench: Bench) -> Path:
    write_files(bench.folder, files_of(bench.state, scan(bench.folder)))
    return bench.folder


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    bench = accepted(tmp_path_factory.mktemp("kept") / "s", opened(job='a,"b"', part="it's 5\\6"))
    return with_tables(bench)


def test_rows_are_those_of_the_tables(tmp_path: Path) -> None:
    bench = accepted(tmp_path / "s", opened(job='a,"b"', part="it's 5\\6", operator="Ø\u2028x"))
    found = kept_cells(with_tables(bench))
    assert found is not None
    for table in tables_of(bench):
        told = csv_bytes(table)
        assert found[table.name] == told[told.index(b"\r\n") + 2 :]


@pytest.mark.parametrize("text", ["=1", "+1", "-1", "@x", "\uff1d1", "a\tb", "'=1", r"a\x41", "\n"])
def test_a_text_that_was_guarded_or_looks_so_is_asked_of_the_ledger(
    tmp_path: Path, text: str
) -> None:
    assert kept_cells(with_tables(accepted(tmp_path / "s", opened(job=text)))) is None


def rewritten(name: str, old: bytes, new: bytes) -> Callable[[Path], None]:
    def edit(folder: Path) -> None:
        data = (folder / name).read_bytes()
        assert old in data
        (folder / name).write_bytes(data.replace(old, new, 1))

    return edit


def torn(folder: Path) -> None:
    path = folder / "ledger.jsonl"
    path.write_bytes(path.read_bytes()[:-1])


def of_other_columns(folder: Path) -> None:
    """A later version's: its digest is right, and there is one more column."""
    import hashlib

    path = folder / "notes.csv"
    data = path.read_bytes().replace(b"\r\n", b",more\r\n", 1)
    path.write_bytes(data)
    described = json.loads((folder / "datapackage.json").read_text(encoding="utf-8"))
    for resource in described["resources"]:
        if resource["name"] == "notes":
            resource["bytes"] = len(data)
            resource["hash"] = f"sha256:{hashlib.sha256(data).hexdigest()}"
    (folder / "datapackage.json").write_text(json.dumps(described), encoding="utf-8")


NOT_WHOLE: dict[str, Callable[[Path], object]] = {
    "a digit changed": rewritten("readings.csv", b"59.980", b"59.981"),
    "a table gone": lambda folder: (folder / "steps.csv").unlink(),
    "no description": lambda folder: (folder / "datapackage.json").unlink(),
    "no metadata": lambda folder: (folder / "csv-metadata.json").unlink(),
    "no ledger": lambda folder: (folder / "ledger.jsonl").unlink(),
    "an empty ledger": lambda folder: (folder / "ledger.jsonl").write_bytes(b""),
    "a ledger that goes on": rewritten("ledger.jsonl", b'"}\n', b'"}\n{}\n'),
    "a ledger without its last byte": torn,
    "another session's description": rewritten("datapackage.json", b'_chain": "', b'_chain": "0'),
    "no JSON": rewritten("datapackage.json", b"{", b"["),
    "a path that leads elsewhere": rewritten("datapackage.json", b'"notes.csv"', b'"../x.csv"'),
    "an unknown table": rewritten("datapackage.json", b'"name": "notes"', b'"name": "more"'),
    "other columns": of_other_columns,
}


@pytest.mark.parametrize("what", NOT_WHOLE)
def test_what_is_not_whole_is_derived(whole: Path, tmp_path: Path, what: str) -> None:
    copy = Path(shutil.copytree(whole, tmp_path / "s"))
    assert kept_cells(copy) is not None
    NOT_WHOLE[what](copy)
    if what == "a ledger that goes on":
        path = copy / "ledger.jsonl"
        path.write_bytes(path.read_bytes() + b"{}\n")
    assert kept_cells(copy) is None


def test_a_text_of_any_length_is_read(tmp_path: Path) -> None:
    long = "x" * 140_000  # more than Python's own reader of CSV takes
    folder = with_tables(accepted(tmp_path / "s", opened(job=long)))
    assert kept_cells(folder) is not None
    assert daq.load_many([folder]).sessions["job"].tolist() == [long]


def test_an_open_session_and_an_earlier_one_have_none(tmp_path: Path) -> None:
    assert kept_cells(still_open(tmp_path / "s").folder) is None
    assert kept_cells(ROOT / "tests" / "golden" / "v0.3.0") is None
    assert kept_cells(tmp_path / "none") is None
