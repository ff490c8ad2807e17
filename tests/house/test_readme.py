"""README against the program: the commands it lists, the command CI runs, the first paragraph."""

import re

from daq.cli.app import COMMANDS
from daq.equipment.stacks.set_file import parse_block_set
from daq.plan.plan import parse_plan
from daq.rules.commands import WORDS
from daq.services.home import SHIPPED_SETS
from drivers.profile.file import parse_profile
from drivers.profile.profile import SHIPPED
from tests.places import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)


def test_the_command_list_is_the_programs() -> None:
    listed = re.findall(r"^\| `jbridge (\w+)", README, re.MULTILINE)
    assert sorted(set(listed)) == sorted(COMMANDS)


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
    assert parse_profile(blocks("toml")[3], "README.md").id == "bench-mike"


def test_the_further_plan_keys_shown_fit_a_plan() -> None:
    more = blocks("toml")[1].partition("# in [defaults] and")[0].replace("[study]", "[unused]")
    study = more.partition("[unused]")[2].partition("[[group]]")[0]
    journal = '[[journal]]\nname = "M1"\ngroup = "mains"\nlow = "59.97 mm"\nhigh = "59.99 mm"\n'
    head = 'schema = 1\npart = "x"\n[check]\nstack = "59.742 mm"\n'
    rest = more.replace(f"[unused]{study}", "")
    plan = parse_plan(f"{head}{rest}{journal}", "README.md")
    assert plan.journals[0].undersize == "0.25"
    second = journal.replace("M1", "M2")
    studied = parse_plan(f"{head}[study]{study}{journal}{second}", "README.md")
    assert studied.study is not None
    assert studied.study.operators == ("A", "B")


def test_the_block_set_shown_is_one() -> None:
    shipped = {path.stem: path.read_text(encoding="utf-8") for path in SHIPPED_SETS.glob("*.toml")}
    shown = parse_block_set(blocks("toml")[2], "ours", "README.md", shipped)
    assert shown.grade == "1"


def test_the_patterns_named_are_those_shipped() -> None:
    section = README.split("untried on real gauges**:")[1].split("Try them")[0]
    named = set(re.findall(r"`([a-z0-9-]+)`", section))
    assert named == {path.stem for path in SHIPPED.glob("*.toml")}
