"""`jbridge export` in other formats: where files go, what is said, what is refused."""

import json
from pathlib import Path

import pytest

from daq.cli.app import run
from tests.builders import SESSION, accepted, opened, rejected, still_open
from tests.places import ROOT

LONG = "x" * 65536


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its job is as long as a line may be, and is no formula."""
    first = opened(job=f"=1+2{LONG}", operator="\u202eגל 🦀")
    return accepted(tmp_path_factory.mktemp("export") / "s", first).folder


def said(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str, str]:
    """Exit code, stdout, stderr of one call."""
    code = run(["export", *args])
    captured = capsys.readouterr()
    return code, captured.out, captured.err


def files_in(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*"))


def test_a_workbook_has_the_answer_first(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    import openpyxl

    before = files_in(folder)
    code, out, err = said(capsys, str(folder), "--format", "xlsx", "--to", str(tmp_path))
    assert (code, out, err) == (0, f"{tmp_path}: {SESSION}.xlsx (accepted)\n", "")
    assert files_in(folder) == before, "the session is left alone"
    book = openpyxl.load_workbook(tmp_path / f"{SESSION}.xlsx")
    lines = [str(row[0].value) for row in book["answer"].iter_rows()]
    assert lines[0] == "No. 2 (crankshaft of the pump engine)"
    assert lines[1].startswith("MAINS: may serve")
    assert lines[2].startswith("RODS: may serve")
    assert lines[3].startswith("Measurement good (accepted)")
    assert f"Session: {SESSION}, accepted" in lines
    (job,) = [line for line in lines if line.startswith("Job: =1+2x")]
    assert len(job) < 210
    assert len(lines) < 30
    cell = book["readings"]["B2"]
    assert (cell.data_type, "[cut here: 65540 characters" in cell.value) == ("s", True)


@pytest.mark.parametrize(
    ("options", "names"),
    [
        (["--format", "jsonl", "--columns", "journals.verdict"], ["journals.jsonl"]),
        (
            ["--dialect", "comma", "--columns", "step, group"],
            ["csv-metadata.json", "datapackage.json", "groups.csv"],
        ),
        (["--format", "parquet", "--columns", "cleans_up"], ["steps.parquet"]),
    ],
)
def test_each_format_makes_a_folder_of_the_sessions_id(
    folder: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    options: list[str],
    names: list[str],
) -> None:
    code, out, _ = said(capsys, str(folder), *options, "--to", str(tmp_path), "--json")
    assert code == 0
    (report,) = json.loads(out)
    assert (report["to"], sorted(report["files"])) == (str(tmp_path / SESSION), names)
    assert files_in(tmp_path) == [SESSION, *(f"{SESSION}/{name}" for name in names)]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--format", "xlsx"], "for --to: say --to FOLDER"),
        (["--dialect", "comma", "--format", "jsonl", "--to", "T"], "--format csv alone"),
        (["--columns", "nothing", "--to", "T"], "no column 'nothing'"),
        (["--columns", LONG, "--to", "T"], "no column 'xxx"),
        (["--columns", "jornal", "--to", "T"], "Is journal meant? See"),
        (["--columns", " , ", "--to", "T"], "name a column at least"),
        (["--template", "/dev/zero", "--to", "T"], "cannot be read"),
        (["--template", LONG, "--to", "T"], "cannot be read: File name too long"),
        (["--format", "jsonl", "--to", "SESSION/tables"], "lies in a session's folder"),
        (["--format", "docx", "--to", "T"], "docx"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_made(
    folder: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    options: list[str],
    words: str,
) -> None:
    before = files_in(folder)
    places = {"T": str(tmp_path / "t"), "SESSION/tables": str(folder / "tables")}
    code, out, err = said(capsys, str(folder), *(places.get(each, each) for each in options))
    assert (code, out) == (2, "")
    assert words in " ".join(err.split())
    assert len(err) < 1000
    assert files_in(folder) == before
    assert [name for name in files_in(tmp_path) if name != "t"] == []


def test_what_was_made_before_is_left_until_it_is_to_be_replaced(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    options = [str(folder), "--format", "jsonl", "--to", str(tmp_path)]
    assert said(capsys, *options)[0] == 0
    code, _, err = said(capsys, *options)
    assert code == 2
    assert "is there already" in err
    assert said(capsys, *options, "--replace")[0] == 0


def test_a_read_only_folder_is_the_machines_fault(
    folder: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refused(*given: object, **options: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "mkdir", refused)
    code, _, err = said(capsys, str(folder), "--format", "jsonl", "--to", str(tmp_path / "t"))
    assert code == 4
    assert "no permission to write there" in " ".join(err.split())


def test_open_damaged_and_rejected_sessions_make_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    to = ["--format", "jsonl", "--to", str(tmp_path / "to")]
    assert said(capsys, str(still_open(tmp_path / "open").folder), *to)[0] == 2
    damaged = accepted(tmp_path / "damaged").folder
    ledger = damaged / "ledger.jsonl"
    ledger.write_bytes(ledger.read_bytes().replace(b"59.982", b"59.983"))
    assert said(capsys, str(damaged), *to)[0] == 1
    no = rejected(tmp_path / "no").folder
    assert said(capsys, str(no), *to)[0] == 1
    assert not (tmp_path / "to").exists()
    assert said(capsys, str(no), *to, "--even-rejected")[0] == 0
    rows = (tmp_path / "to" / SESSION / "readings.jsonl").read_text(encoding="utf-8").splitlines()
    assert {json.loads(row)["session_verdict"] for row in rows} == {"rejected"}


def test_tables_edited_by_hand_do_not_come_into_what_is_made(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = accepted(tmp_path / "s").folder
    assert said(capsys, str(folder))[0] == 0
    path = folder / "readings.csv"
    path.write_bytes(path.read_bytes().replace(b"59.980", b"59.900"))
    assert said(capsys, str(folder), "--to", str(tmp_path / "to"))[0] == 0
    assert b"59.900" not in (tmp_path / "to" / SESSION / "readings.csv").read_bytes()
    assert b"59.900" in path.read_bytes(), "this is for export without --to to mend"


def test_todays_tables_of_an_earlier_session(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    old = ROOT / "tests" / "golden" / "v0.1.0"
    before = files_in(old)
    assert said(capsys, str(old), "--as-now", "--to", str(tmp_path))[0] == 0
    assert (tmp_path / SESSION / "notes.csv").exists()
    assert files_in(old) == before


def test_two_sessions_of_one_id_never_write_over_one_another(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    one = accepted(tmp_path / "one", opened(job="1")).folder
    other = accepted(tmp_path / "other", opened(job="2")).folder
    options = ["--format", "jsonl", "--to", str(tmp_path / "t"), "--replace"]
    code, _, err = said(capsys, str(one), str(other), *options)
    assert code == 2
    assert f"two of these sessions have the id {SESSION}" in " ".join(err.split())
    kept = tmp_path / "t" / SESSION / "sessions.jsonl"
    assert json.loads(kept.read_text(encoding="utf-8"))["job"] == "1"


@pytest.mark.parametrize("first", ["csv", "parquet", "jsonl"])
def test_what_another_record_of_that_id_gave_is_not_replaced(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], first: str
) -> None:
    one = accepted(tmp_path / "one", opened(job="1")).folder
    other = accepted(tmp_path / "other", opened(job="2")).folder
    to = ["--to", str(tmp_path / "t"), "--replace"]
    assert said(capsys, str(one), "--format", first, *to)[0] == 0
    assert said(capsys, str(one), "--format", first, *to)[0] == 0  # of the same record it is
    before = files_in(tmp_path / "t")
    code, _, err = said(capsys, str(other), *to)
    assert code == 2
    assert "was made from another record with this session's id" in " ".join(err.split())
    assert files_in(tmp_path / "t") == before
    assert said(capsys, str(one), *to)[0] == 0
