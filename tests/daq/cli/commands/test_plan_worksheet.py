"""`jbridge plan worksheet`: where the page goes, and what it does not write over."""

import json
from pathlib import Path

import pytest

from daq.cli.app import run
from daq.services.examples import example


@pytest.fixture(autouse=True)
def _plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("JBRIDGE_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)
    Path("pump.toml").write_text(example("single-inch").text, encoding="utf-8")


def test_the_page_lies_beside_the_plan_and_is_made_again(
    capsys: pytest.CaptureFixture[str],
) -> None:
    for _ in range(2):
        assert run(["plan", "worksheet", "pump.toml"]) == 0
        assert capsys.readouterr().out == "pump-worksheet.html\n"
    assert Path("pump-worksheet.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_a_file_of_somebody_else_needs_replace(capsys: pytest.CaptureFixture[str]) -> None:
    Path("a.html").write_text("mine", encoding="utf-8")
    assert run(["plan", "worksheet", "pump.toml", "--output", "a.html"]) == 2
    assert "--output" in capsys.readouterr().err
    assert Path("a.html").read_text(encoding="utf-8") == "mine"
    assert run(["plan", "worksheet", "pump.toml", "--output", "a.html", "--replace"]) == 0
    assert "Tanfield" in Path("a.html").read_text(encoding="utf-8")


def test_stdout_and_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["plan", "worksheet", "pump.toml", "--output", "-"]) == 0
    assert capsys.readouterr().out.endswith("</body></html>\n")
    assert run(["plan", "worksheet", "pump.toml", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"worksheet": "pump-worksheet.html"}


def test_what_is_no_plan_is_exit_2(capsys: pytest.CaptureFixture[str]) -> None:
    Path("letter.txt").write_text("Dear Sir", encoding="utf-8")
    assert run(["plan", "worksheet", "letter.txt"]) == 2
    assert "letter.txt: line 1, Dear Sir" in capsys.readouterr().err
