"""The guide's topics: every text is there, is one topic, and holds the whole reference."""

import pytest

from daq.errors import UsageError
from daq.guide.topics import TOPICS, text_of
from tests.places import ROOT


def test_every_topic_has_a_text_and_every_text_a_topic() -> None:
    there = {path.stem for path in (ROOT / "daq" / "guide" / "texts").glob("*.md")}
    assert there == set(TOPICS)


@pytest.mark.parametrize("topic", TOPICS)
def test_a_topic_begins_with_its_one_title(topic: str) -> None:
    text = text_of(topic)
    prose = "".join(text.split("```")[::2])
    assert text.startswith("# ")
    assert [line for line in prose.splitlines() if line.startswith("# ")] == text.splitlines()[:1]


def test_the_profile_topic_holds_the_reference_with_its_headings_deeper() -> None:
    text = text_of("profiles")
    assert "\n## Profile schema 1\n" in text
    assert "\n### `[link]`\n" in text
    assert '[[layout]]\nlit = "#"' in text  # a mark in a block of code is no heading


@pytest.mark.parametrize(("asked", "meant"), [("plans", "plan"), ("Gauge", "gauges")])
def test_a_topic_that_there_is_not_names_the_nearest(asked: str, meant: str) -> None:
    with pytest.raises(UsageError, match=f"Did you mean {meant}"):
        text_of(asked)


def test_a_path_is_no_topic() -> None:
    with pytest.raises(UsageError, match="there is no topic"):
        text_of("../texts/plan")
