"""The guide as a page, read by the parser of the standard library."""

from html.parser import HTMLParser

import pytest

from daq.errors import UsageError
from daq.guide.page import MARK, page
from daq.guide.topics import TOPICS


class Found(HTMLParser):
    """Tags with their attributes, and the headings' words."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))


WHOLE = page(list(TOPICS))
TAGS = Found(WHOLE).tags


def test_every_topic_is_a_section_that_the_list_leads_to() -> None:
    sections = [given["id"] for tag, given in TAGS if tag == "section"]
    links = [given["href"] for tag, given in TAGS if tag == "a"]
    assert sections == list(TOPICS)
    assert links == [f"#{topic}" for topic in TOPICS]


def test_nothing_is_run_and_nothing_is_fetched() -> None:
    assert {tag for tag, _ in TAGS} & {"script", "link", "img", "iframe", "object"} == set()
    assert "url(" not in WHOLE
    assert "@import" not in WHOLE


def test_a_page_begins_with_its_mark() -> None:
    assert WHOLE.startswith(MARK)


def test_tables_become_tables_and_code_stays_code() -> None:
    assert sum(tag == "table" for tag, _ in TAGS) >= 5
    assert "<code>typed:</code>" in WHOLE


def test_one_topic_alone_has_no_list() -> None:
    one = Found(page(["glossary"])).tags
    assert [tag for tag, _ in one if tag in ("nav", "section")] == ["section"]


def test_a_topic_that_there_is_not_is_refused() -> None:
    with pytest.raises(UsageError):
        page(["session", "nothing"])
