"""The words that stand in the page itself, not in the program: fit to be read as all others."""

import re
from pathlib import Path

import pytest

from tests.house.test_messages import NOT_ON_SCREEN
from tests.places import ROOT

SERVER = ROOT / "daq" / "page" / "server"
TEMPLATES = sorted((SERVER / "templates").glob("*.html"))


def words_of_template(text: str) -> str:
    """Without tags, expressions and statements, but with what is read aloud of a tag."""
    told = re.findall(r'aria-label="([^"]*)"', text)
    return " ".join([*told, re.sub(r"\{\{.*?\}\}|\{%.*?%\}|<[^>]*>", " ", text, flags=re.DOTALL)])


def words_of_script(text: str) -> str:
    """All that is in quotes."""
    code = re.sub(r"^\s*//.*$", "", text, flags=re.MULTILINE)
    return " ".join(first or second for first, second in re.findall(r'"([^"]*)"|`([^`]*)`', code))


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.stem)
def test_no_template_has_words_of_the_workshop_of_programs(template: Path) -> None:
    text = words_of_template(template.read_text(encoding="utf-8"))
    assert NOT_ON_SCREEN.findall(text) == []


def test_no_words_of_the_script_are_those_of_the_workshop_of_programs() -> None:
    text = words_of_script((SERVER / "static" / "page.js").read_text(encoding="utf-8"))
    assert "Not live since" in text
    assert NOT_ON_SCREEN.findall(text) == []
