"""README and guide against the program: the commands they show, the files they show, the words."""

import re
from typing import Any

import pytest

from daq.cli.app import COMMANDS
from daq.equipment.gauge import parse_gauge
from daq.equipment.stacks.set_file import parse_block_set
from daq.guide.topics import TOPICS, text_of
from daq.plan.plan import json_schema, parse_plan
from daq.rules.commands import WORDS
from daq.services.home import SHIPPED_SETS
from drivers.profile.file import parse_profile
from drivers.profile.profile import SHIPPED
from tests.daq.cli.views.shown_sessions import texts
from tests.house.texts import (
    README,
    TEXTS,
    blocks,
    command_of,
    every_command,
    options_of,
    shown_commands,
    unknown_options,
)
from tests.places import ROOT

MOST_WORDS = 900
"""A page and a half."""


def test_readme_stays_a_page_and_a_half() -> None:
    prose = re.sub(r"^```text.*?^```", "", README, flags=re.DOTALL | re.MULTILINE)
    assert len(prose.split()) <= MOST_WORDS


def test_the_picture_of_the_screen_is_the_screen() -> None:
    (shown,) = blocks("text", README)
    assert shown.splitlines() == [line.rstrip() for line in texts("normal", 80, 24)]


def test_readme_opens_with_the_job_in_one_paragraph() -> None:
    title, job, *_ = README.split("\n\n")
    assert title == "# journalbridge"
    assert "press send for each\nreading and nothing else" in job


def test_every_command_stands_in_readme_and_no_other() -> None:
    shown = {line.split()[1] for line in shown_commands(README)}
    assert shown == set(COMMANDS)


@pytest.mark.parametrize("topic", TEXTS)
def test_every_command_shown_is_one_with_these_options(topic: str) -> None:
    for line in shown_commands(TEXTS[topic]):
        command_of(line)
        assert list(unknown_options(line)) == [], line


OPTIONS = {name for command in every_command() for name in options_of(command)}


@pytest.mark.parametrize("topic", TEXTS)
def test_every_option_named_by_itself_belongs_to_some_command(topic: str) -> None:
    named = set(re.findall(r"`(--[a-z][a-z-]*)", TEXTS[topic]))
    assert named - OPTIONS == set()


def test_ci_runs_readmes_test_command() -> None:
    tested = [block.strip() for block in blocks("sh", README) if "-m pytest" in block]
    assert len(tested) == 1
    assert "grep -m1 -- '-m pytest' README.md" in (ROOT / ".ci/run").read_text(encoding="utf-8")
    first = next(line for line in README.splitlines() if "-m pytest" in line)
    assert first == tested[0]


def test_the_words_of_the_session_are_the_programs() -> None:
    section = text_of("session").split("## Words that can be typed")[1].split("\n## ")[0]
    listed = [
        word
        for row in re.findall(r"^\| (`.*?) \|", section, re.MULTILINE)
        for word in re.findall(r"`([a-z]+)", row)
    ]
    assert listed == list(WORDS)


def test_the_plan_shown_is_a_plan() -> None:
    plan = parse_plan(blocks("toml", text_of("plan"))[0], "guide")
    assert [journal.name for journal in plan.journals] == ["M1", "M2", "M3", "M4", "R1", "R2", "R3"]


def test_every_key_of_a_plan_is_told() -> None:
    schema = json_schema()
    keys = {key for part in _tables(schema) for key in part["properties"]}
    told = set(re.findall(r"[a-z_]+", text_of("plan")))
    assert keys - told == set()


def _tables(schema: dict[str, Any]) -> list[dict[str, Any]]:
    parts = (schema, *schema["$defs"].values())
    return [part for part in parts if "properties" in part]


def test_the_further_plan_keys_shown_fit_a_plan() -> None:
    more = blocks("toml", text_of("plan"))[1]
    head = 'schema = 1\npart = "x"\n'
    journal = '[[journal]]\nname = "{}"\ngroup = "mains"\nlow = "59.97 mm"\nhigh = "59.99 mm"\n'
    more = more.replace("[check]\n", '[check]\nstack = "59.742 mm"\n').replace(
        "[defaults]\n", '[defaults]\nstations = ["front", "rear"]\n'
    )
    study = re.search(r"^\[study\].*?(?=^\[\[)", more, re.DOTALL | re.MULTILINE)
    assert study is not None
    plan = parse_plan(head + more.replace(study[0], "") + journal.format("M1"), "guide")
    assert plan.journals[0].undersize == "0.25"
    two = journal.format("M1") + journal.format("M2")
    studied = parse_plan(f'{head}[check]\nstack = "59.97 mm"\n{study[0]}{two}', "guide")
    assert studied.study is not None
    assert studied.study.operators == ("A", "B")


def test_the_profile_shown_is_a_profile() -> None:
    assert parse_profile(blocks("toml", text_of("profiles"))[0], "guide").id == "bench-mike"


def test_the_block_set_shown_is_one() -> None:
    shipped = {path.stem: path.read_text(encoding="utf-8") for path in SHIPPED_SETS.glob("*.toml")}
    (text,) = blocks("toml", text_of("stacks"))
    assert parse_block_set(text, "ours", "guide", shipped).grade == "1"


def test_the_patterns_named_are_those_shipped() -> None:
    section = text_of("profiles").split("untried on real gauges:")[1].split("Try them")[0]
    named = set(re.findall(r"`([a-z0-9-]+)`", section))
    assert named == {path.stem for path in SHIPPED.glob("*.toml")}


def test_the_keys_of_a_gauge_file_are_all_told() -> None:
    section = text_of("gauges").split("**A gauge file**")[1].split("\n\n")[0]
    told = set(re.findall(r"`([a-z_]+)`", section)) | {"schema"}
    known = 'schema = 1\nprofile = "p"\nport = "/dev/x"\nnonsense = 1\n'
    with pytest.raises(Exception, match="nonsense"):
        parse_gauge(known, "g", "g.toml")
    assert {"profile", "port", "identity", "resolution", "permitted_error", "range"} <= told


def test_a_dozen_words_or_a_few_more_are_explained() -> None:
    explained = re.findall(r"^\*\*(.+?)\*\*:", text_of("glossary"), re.MULTILINE)
    assert 12 <= len(explained) <= 20
    assert len(set(explained)) == len(explained)


@pytest.mark.parametrize("topic", TOPICS)
def test_no_line_of_the_guide_is_wider_than_a_terminal(topic: str) -> None:
    text = re.sub(r"^(\|.*|```.*?^```)$", "", text_of(topic), flags=re.MULTILINE | re.DOTALL)
    assert [line for line in text.splitlines() if len(line) > 100] == []
