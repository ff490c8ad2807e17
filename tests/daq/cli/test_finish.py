"""The end of a run: the answer, where it lies, and the command that comes next on its own line."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from daq.cli.finish import finish
from daq.cli.options import Context
from daq.record.state import State
from tests.daq.cli.views import closing_sessions as sessions

Make = Callable[[Path], State]


def told(
    folder: Path, make: Make, capsys: pytest.CaptureFixture[str], *, as_json: bool = False
) -> tuple[int, list[str]]:
    context = Context()
    context.as_json = as_json
    code = finish(context, make(folder / "s"), folder / "s")
    return code, capsys.readouterr().out.splitlines()


@pytest.mark.parametrize(
    ("make", "code", "last"),
    [
        (sessions.all_good, 0, "Tables are in {}"),
        (sessions.study, 0, "  jbridge study {}"),
        (sessions.still_open, 0, "  jbridge resume {}"),
        (sessions.rejected, 1, "  jbridge export {} --even-rejected"),
        (sessions.abandoned, 1, "  jbridge export {} --even-rejected"),
        (sessions.not_measured, 1, "  jbridge export {} --even-rejected"),
    ],
)
def test_the_last_line_says_what_comes_next(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], make: Make, code: int, last: str
) -> None:
    found, lines = told(tmp_path, make, capsys)
    assert found == code
    whole = " ".join(" ".join(lines).replace("\\", "").split())
    assert whole.endswith(last.format(tmp_path / "s").strip())


def test_a_study_is_followed_by_its_command_and_by_no_next_step(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, lines = told(tmp_path, sessions.study, capsys)
    assert "Now run:" in lines
    assert not any("serve" in line or "GRIND" in line for line in lines)


def test_json_is_one_document_and_no_text(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, (line,) = told(tmp_path, sessions.rejected, capsys, as_json=True)
    document = json.loads(line)
    assert code == 1
    assert list(document) == ["session_id", "verdict", "reasons", "folder"]
    assert document["verdict"] == "rejected"
    assert document["reasons"][0] == "stopped: the shift ends"
