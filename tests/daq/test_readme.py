"""README against the program: the commands it lists, the command CI runs, the first paragraph."""

import re
from pathlib import Path

from daq.cli.app import COMMANDS
from daq.commands import WORDS
from daq.plan import parse_plan
from drivers.profile import SHIPPED
from drivers.profile_file import parse_profile

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)


def test_the_command_list_is_the_programs() -> None:
    listed = re.findall(r"^\| `jbridge (\w+)", README, re.MULTILINE)
    assert sorted(listed) == sorted(COMMANDS)


def test_the_words_are_the_programs() -> None:
    section = README.split("Words that can be typed")[1].split("With `--plain`")[0]
    listed = re.findall(r"`([a-z]+)[ `]", section)
    assert [word for word in listed if word in WORDS] == list(WORDS)


def test_ci_runs_readmes_test_command() -> None:
    tested = [block.strip() for block in blocks("sh") if "-m pytest" in block]
    assert len(tested) == 1
    assert "grep -m1 -- '-m pytest' README.md" in (ROOT / ".ci/run").read_text(encoding="utf-8")
    first = next(line for line in README.splitlines() if "-m pytest" in line)
    assert first == tested[0]


def test_the_plan_shown_is_a_plan() -> None:
    plan = parse_plan(blocks("toml")[0], "README.md")
    assert [journal.name for journal in plan.journals] == ["M1"]


def test_the_profile_shown_is_a_profile() -> None:
    assert parse_profile(blocks("toml")[1], "README.md").id == "bench-mike"


def test_the_patterns_named_are_those_shipped() -> None:
    section = README.split("untried on real gauges**:")[1].split("Try them")[0]
    named = set(re.findall(r"`([a-z0-9-]+)`", section))
    assert named == {path.stem for path in SHIPPED.glob("*.toml")}
