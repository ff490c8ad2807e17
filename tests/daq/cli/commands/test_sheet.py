"""`jbridge sheet` and `verify --sheet`: where the page goes, what is refused, exit codes."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from daq.cli.app import run
from daq.errors import ExportError
from daq.record.state import State
from tests.daq.cli.views.closing_sessions import rejected, still_open, study
from tests.places import ROOT

Said = pytest.CaptureFixture[str]
ID = "20261125T080000Z-test"


@pytest.fixture(autouse=True)
def _home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A home with one session of an earlier version."""
    home = tmp_path / "home"
    shutil.copytree(ROOT / "tests" / "golden" / "v0.3.0", home / "sessions" / ID)
    monkeypatch.setenv("JBRIDGE_HOME", str(home))
    monkeypatch.chdir(tmp_path)


def test_the_sheet_lies_in_the_sessions_folder_and_is_made_again(
    tmp_path: Path, capsys: Said
) -> None:
    path = tmp_path / "home" / "sessions" / ID / "sheet.html"
    before = {each.name for each in path.parent.iterdir()}
    for _ in range(2):
        assert run(["sheet", "test"]) == 0
        assert capsys.readouterr().out == f"{path}\n"
    assert path.read_text(encoding="utf-8").startswith(
        "<!DOCTYPE html>\n<!-- Made by jbridge sheet"
    )
    assert {each.name for each in path.parent.iterdir()} - before == {"sheet.html"}
    assert run(["verify", "--sheet", str(path)]) == 0
    assert f"{path}: belongs to this record, line 54\n" in capsys.readouterr().out


def test_output_units_and_json(tmp_path: Path, capsys: Said) -> None:
    assert run(["sheet", "test", "--output", "a.html", "--units", "inch", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said == {"sheet": "a.html", "session_id": ID, "verdict": "accepted"}
    assert "~2.3" in Path("a.html").read_text(encoding="utf-8")


def test_a_file_of_somebody_else_needs_replace_and_a_record_is_never_written_over(
    tmp_path: Path, capsys: Said
) -> None:
    Path("a.html").write_text("mine", encoding="utf-8")
    assert run(["sheet", "test", "--output", "a.html"]) == 2
    assert "--replace" in capsys.readouterr().err
    assert Path("a.html").read_text(encoding="utf-8") == "mine"
    assert run(["sheet", "test", "--output", "a.html", "--replace"]) == 0
    ledger = tmp_path / "home" / "sessions" / ID / "ledger.jsonl"
    data = ledger.read_bytes()
    assert run(["sheet", "test", "--output", str(ledger), "--replace"]) == 2
    assert "ends in .html or .pdf" in capsys.readouterr().err
    assert ledger.read_bytes() == data


def test_the_shops_head_stands_on_it_and_a_wrong_one_is_refused(
    tmp_path: Path, capsys: Said
) -> None:
    shop = tmp_path / "home" / "shop.toml"
    shop.write_text('schema = 1\nname = "Harbour & Sons"\n', encoding="utf-8")
    assert run(["sheet", "test", "--output", "a.html"]) == 0
    assert "Harbour &amp; Sons" in Path("a.html").read_text(encoding="utf-8")
    capsys.readouterr()
    shop.write_text('schema = 1\nname = "A"\nlogo = "logo.svg"\n', encoding="utf-8")
    assert run(["sheet", "test", "--output", "b.html"]) == 2
    assert "shop.toml, key logo:" in capsys.readouterr().err
    assert not Path("b.html").exists()


@pytest.mark.parametrize(("make", "word"), [(still_open, "NOT FINISHED"), (rejected, "REJECTED")])
def test_a_session_that_is_not_accepted_has_a_sheet_that_says_so(
    tmp_path: Path, make: Callable[[Path], State], word: str, capsys: Said
) -> None:
    make(tmp_path / "s")
    assert run(["sheet", "s", "--json"]) == 0
    path = json.loads(capsys.readouterr().out)["sheet"]
    assert Path(path).read_text(encoding="utf-8").count(word) == 2


def test_a_gauge_study_has_no_sheet_and_the_command_for_it_is_named(
    tmp_path: Path, capsys: Said
) -> None:
    study(tmp_path / "s")
    assert run(["sheet", "s"]) == 2
    said = capsys.readouterr().err
    assert "is a gauge study: it is about the gauge" in said
    assert "jbridge study s" in said
    assert not (tmp_path / "s" / "sheet.html").exists()


def test_without_the_library_no_pdf_is_written(
    monkeypatch: pytest.MonkeyPatch, capsys: Said
) -> None:
    def missing(page: str, paper: str) -> bytes:
        raise ExportError("A PDF cannot be made: weasyprint is not installed here.")

    monkeypatch.setattr("daq.sheet.pdf.pdf_of", missing)
    assert run(["sheet", "test", "--output", "a.pdf"]) == 4
    assert "weasyprint" in capsys.readouterr().err
    assert not Path("a.pdf").exists()


def test_a_pdf_is_known_as_its_own_and_another_is_not(
    monkeypatch: pytest.MonkeyPatch, capsys: Said
) -> None:
    from daq.sheet.seal import sealed_pdf

    monkeypatch.setattr(
        "daq.sheet.pdf.pdf_of", lambda page, paper: sealed_pdf(b"%PDF-1.7\n" + paper.encode())
    )
    for _ in range(2):
        assert run(["sheet", "test", "--output", "a.PDF"]) == 0
    assert Path("a.PDF").read_bytes().startswith(b"%PDF-1.7\na4\n%jbridge-sheet ")
    Path("a.PDF").write_bytes(b"%PDF-1.7\ntheirs\n%%EOF\n")
    assert run(["sheet", "test", "--output", "a.PDF"]) == 2


def test_an_edited_sheet_is_exit_1_with_words_and_in_json(capsys: Said) -> None:
    assert run(["sheet", "test", "--output", "a.html"]) == 0
    text = Path("a.html").read_text(encoding="utf-8")
    Path("a.html").write_text(text.replace("<td><bdi>59.9783", "<td><bdi>59.9883"), "utf-8")
    capsys.readouterr()
    assert run(["verify", "--sheet", "a.html", "test"]) == 1
    assert 'it says "59.9883", the record gives "59.9783"' in capsys.readouterr().out
    assert run(["verify", "--sheet", "a.html", "--json"]) == 1
    (report,) = json.loads(capsys.readouterr().out)
    assert report["ok"]
    assert not report["sheet"]["ok"]
    assert len(report["sheet"]["faults"]) == 2


def test_of_a_damaged_record_both_are_told(tmp_path: Path, capsys: Said) -> None:
    assert run(["sheet", "test", "--output", "a.html"]) == 0
    ledger = tmp_path / "home" / "sessions" / ID / "ledger.jsonl"
    ledger.write_bytes(ledger.read_bytes().replace(b"59.979", b"59.999", 1))
    capsys.readouterr()
    assert run(["verify", "--sheet", "a.html", "--json"]) == 1
    (report,) = json.loads(capsys.readouterr().out)
    assert (report["ok"], report["sheet"]["ok"]) == (False, False)
    assert "damaged" in report["sheet"]["faults"][0]


def test_verify_names_what_is_missing(tmp_path: Path, capsys: Said) -> None:
    assert run(["verify"]) == 2
    assert "Missing argument" in capsys.readouterr().err
    Path("a.html").write_text("<html></html>", encoding="utf-8")
    assert run(["verify", "--sheet", "a.html"]) == 2
    assert "is no sheet of this program" in capsys.readouterr().err
    assert run(["sheet", "test", "--output", "b.html"]) == 0
    assert run(["verify", "--sheet", "b.html", "test", "test"]) == 2
    assert "name one" in capsys.readouterr().err
    shutil.rmtree(tmp_path / "home" / "sessions")
    assert run(["verify", "--sheet", "b.html"]) == 2
