"""The page: escaped, bounded, nothing fetched, nothing that runs, whatever its texts are."""

import msgspec
import pytest

from daq.sheet.content import (
    SheetContent,
    SheetFact,
    SheetGroup,
    SheetSentence,
    SheetStep,
    SheetTable,
)
from daq.sheet.letterhead import Letterhead
from daq.sheet.page import page
from daq.sheet.seal import seal_of
from tests.daq.sheet.reading import HOSTILE, Page

PLAIN_TAGS = {
    *("html", "head", "meta", "title", "style", "body", "header", "main", "section", "footer"),
    *("h1", "h2", "p", "b", "strong", "span", "bdi", "br", "div", "dl", "dt", "dd", "figure"),
    *("table", "thead", "tbody", "tr", "th", "td", "code", "img"),
    *("svg", "desc", "rect", "path"),
}


def content(text: str = "crank", across: str = "") -> SheetContent:
    """Every text of a sheet is `text`."""
    table = SheetTable(("a", "b"), (((text,), (text, text)), ((text,), ())), 3)
    return SheetContent(
        session=text,
        line=54,
        chain="ab" * 32,
        program="0.4.0",
        units="",
        verdict="accepted",
        title=text,
        facts=(SheetFact("Job", text),),
        across=across,
        across_why=text if across else "",
        answer=(SheetSentence(text), SheetSentence(text, True)),
        measurement=text,
        journals=table,
        journals_notes=(text,),
        groups=(SheetGroup(text, (SheetStep(text, "59.720-59.740 mm", True),)),),
        gauges=(text,),
        checks=table,
        temperatures=(text,),
        not_examined=(text,),
        cautions=(text,),
    )


def test_a_page_fetches_nothing_and_says_so_to_the_browser() -> None:
    found = Page(page(content(), Letterhead("Shop", ("Street",), "data:image/png;base64,AA==")))
    assert found.policy == (
        "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; "
        "form-action 'none'"
    )
    assert found.addresses == ["data:image/png;base64,AA=="]
    assert set(found.tags) <= PLAIN_TAGS


@pytest.mark.parametrize("text", [HOSTILE, HOSTILE * 500, "M" * 65_536, "\u202e" * 65_536])
def test_texts_of_any_kind_are_shown_as_text_and_bounded(text: str) -> None:
    html = page(content(text, "REJECTED"), Letterhead(text, (text,) * 6))
    found = Page(html)
    assert set(found.tags) - {"img"} <= PLAIN_TAGS
    assert "img" not in found.tags
    assert found.handlers == []
    assert found.addresses == []
    assert "\u202e" not in html
    assert "\x1b" not in html
    assert "\x00" not in html
    assert len(html) < 100_000
    harmless = Page(page(content("a", "REJECTED"), Letterhead("a", ("a",) * 6)))
    assert found.tags == harmless.tags


def test_a_hostile_text_can_be_read_as_it_is() -> None:
    shown = Page(page(content(HOSTILE), None)).shown
    assert "<script>alert(1)</script>" in shown
    assert "{{ 7 * 7 }}" in shown
    assert "ציר 第一 😀" in shown
    assert "\\u202eabc" in shown


def test_words_stand_across_a_page_only_where_there_are_some() -> None:
    assert 'class="across"' not in page(content(), None)
    html = page(content(across="NOT FINISHED"), None)
    assert Page(html).shown.count("NOT FINISHED") == 2  # behind the text, and in a frame above it


def test_an_answer_that_nothing_proves_says_so_before_it_says_anything() -> None:
    words = "As far as it goes, and not to be relied on:"
    assert words not in Page(page(content(), None)).shown
    shown = Page(page(content("MAINS: may serve.", across="REJECTED"), None)).shown
    answer = shown.index(words) + len(words)
    assert shown[answer:].lstrip().startswith("MAINS: may serve.")


def test_a_page_carries_its_seal_and_is_the_same_each_time() -> None:
    html = page(content(), None)
    found = seal_of(html)
    assert found is not None
    assert found.is_unchanged
    assert (found.session, found.line, found.chain) == ("crank", 54, "ab" * 32)
    assert html == page(content(), None)


def test_a_session_id_of_any_kind_does_not_get_out_of_its_place() -> None:
    odd = msgspec.structs.replace(content(), session='"><meta name="jbridge-line" content="1">')
    found = seal_of(page(odd, None))
    assert found is not None
    assert found.line == 54


def test_cells_of_words_may_be_broken_and_cells_of_numbers_may_not() -> None:
    places = ("front 45°", "rear by the oil", "W" * 80)
    rows = tuple((("M1",), ("59.9780",), (place,)) for place in places)
    table = SheetTable(("journal", "smallest", "at"), rows, words=("at",))
    html = page(msgspec.structs.replace(content(), journals=table, checks=None), None)
    assert html.count("<td><bdi>59.9780</bdi></td>") == 3
    assert '<td class="short"><bdi>front 45°</bdi></td>' in html
    assert '<td class="words"><bdi>rear by the oil</bdi></td>' in html
    assert f'<td class="long"><bdi>{"W" * 80}</bdi></td>' in html


def test_the_chain_stands_there_as_text() -> None:
    shown = "".join(Page(page(content(), None)).shown.split())
    assert "ab" * 32 in shown
