"""`jbridge guide`: where it writes, and over what it does not."""

import json
from pathlib import Path

import pytest

from daq.cli.app import BAD_INPUT, run
from daq.guide.topics import TOPICS, text_of


def test_a_topic_on_a_pipe_is_its_text(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["guide", "trouble"]) == 0
    assert capsys.readouterr().out == text_of("trouble")


def test_without_a_topic_all_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["guide"]) == 0
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == list(TOPICS)


def test_the_topics_are_a_document_too(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["guide", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == TOPICS


def test_a_topic_that_there_is_not_is_wrong_usage(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["guide", "plans"]) == BAD_INPUT
    assert "Did you mean plan?" in capsys.readouterr().err


@pytest.mark.parametrize("option", ["--html", "--output"])
def test_a_page_is_written_and_again_but_not_over_another_file(
    tmp_path: Path, option: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "guide.html"
    assert run(["guide", option, str(path)]) == 0
    assert run(["guide", "plan", option, str(path)]) == 0  # its own
    path.write_text("my notes")
    assert run(["guide", option, str(path)]) == BAD_INPUT
    assert path.read_text() == "my notes"
    assert "--replace" in capsys.readouterr().err
    assert run(["guide", option, str(path), "--replace"]) == 0
    assert "<section" in path.read_text()
