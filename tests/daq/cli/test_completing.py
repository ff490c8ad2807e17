"""What a shell is offered, asked for in click's own way."""

import io
from contextlib import redirect_stdout
from pathlib import Path

import pytest
from click.shell_completion import ShellComplete

from daq.cli.app import cli, run
from drivers.profile.profile import SHIPPED
from tests.builders import Bench, accepted, opened


def offered(*words: str, begun: str = "") -> list[str]:
    """The words that a shell would offer behind `jbridge WORDS`."""
    shell = ShellComplete(cli, {}, "jbridge", "_JBRIDGE_COMPLETE")
    return [item.value for item in shell.get_completions(list(words), begun)]


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name in ("gauges/bench-mike", "gauges/bore", "profiles/own", "stacks/rods"):
        path = tmp_path / f"{name}.toml"
        path.parent.mkdir(exist_ok=True)
        path.touch()
    monkeypatch.setenv("JBRIDGE_HOME", str(tmp_path))
    return tmp_path


def test_gauges_stacks_and_profiles_of_the_home_are_offered(home: Path) -> None:
    assert offered("measure", "p.toml", "--gauge") == ["bench-mike", "bore"]
    assert offered("measure", "p.toml", "--gauge", begun="bo") == ["bore"]
    assert offered("prove", "--stack") == ["rods"]
    assert offered("listen", "--profile")[0] == "own"
    assert set(offered("listen", "--profile")) > {path.stem for path in SHIPPED.glob("*.toml")}


def test_sessions_are_offered_by_id_and_job(home: Path) -> None:
    accepted(home / "sessions" / "s")  # the job 4711
    assert offered("verify") == ["20261125T080000Z-test", "4711", ""]
    assert offered("verify", begun="47") == ["4711", "47"]  # the last is for a folder


def test_only_open_sessions_are_offered_to_be_carried_on(home: Path) -> None:
    accepted(home / "sessions" / "s")
    assert offered("resume") == [""]
    Bench.new(home / "sessions" / "t", opened(job="4712")).close()
    assert offered("resume") == ["20261125T080000Z-test", "4712", ""]


def test_a_job_of_two_sessions_is_not_offered(home: Path) -> None:
    accepted(home / "sessions" / "s")
    accepted(home / "sessions" / "t")
    assert "4711" not in offered("verify")


def test_a_home_that_cannot_be_read_offers_nothing_and_says_nothing(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("JBRIDGE_HOME", "~no-such-user-here/x")
    assert offered("measure", "p.toml", "--gauge") == []
    assert capsys.readouterr() == ("", "")


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_script_of_each_shell_asks_this_program(shell: str) -> None:
    told = io.StringIO()
    with redirect_stdout(told):
        assert run(["completion", shell]) == 0
    assert "_JBRIDGE_COMPLETE" in told.getvalue()
    assert "jbridge" in told.getvalue()


def test_commands_and_topics_are_offered() -> None:
    assert "measure" in offered(begun="me")
    assert "glossary" in offered("guide")
