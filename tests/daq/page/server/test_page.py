"""The page as HTML."""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from msgspec.structs import replace

from daq.board.board import Board
from daq.page.server.drawings import DRAWINGS
from daq.page.server.moment import Moment
from daq.page.server.page import PARTS, SHEETS, Pages
from daq.page.server.seen import CAUTION, clean
from daq.rules.commands import TakeReading
from tests.builders import MAINS, RODS, SECOND_US, reading
from tests.daq.page.boards import Shown, hostile


class Tags(HTMLParser):
    """Which elements and attributes a page has, its text, and whether all is closed in order."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.text = ""
        self._open: list[str] = []
        self.feed(html)
        self.close()
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in ("meta", "link", "input"):
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data


@pytest.fixture
def shown(tmp_path: Path) -> Shown:
    shown = Shown(tmp_path / "s", can_send=True)
    shown.press("59.970", "59.971", "59.980")
    return shown


def page(board: Board, shown: Shown, *, may_press: bool = True) -> str:
    pages = Pages(shown.layout)
    moment = Moment(board, board.news)
    return pages.page(pages.parts(moment) | pages.drawings(moment), may_press, board.step)


def test_the_whole_page_is_well_formed_and_has_every_part_once(shown: Shown) -> None:
    found = Tags(page(shown.board, shown))
    ids = [value for name, value in found.attributes if name == "id"]
    assert len(ids) == len(set(ids))
    parts = {*PARTS, *DRAWINGS, *(f"keys-{word}" for word in SHEETS)}
    assert parts <= set(ids)
    assert found.tags.count("h1") == 1
    assert found.tags.count("svg") == len(DRAWINGS)


def test_who_may_only_look_finds_no_button_that_does_anything(shown: Shown) -> None:
    html = page(shown.board, shown, may_press=False)
    assert "data-word" not in html
    assert "<form" not in html
    buttons = [value for name, value in Tags(html).attributes if name == "type"]
    assert buttons.count("button") == 2  # sound and speech


@pytest.mark.parametrize(
    "text",
    [
        "<script>alert(1)</script>",
        '"><img src=x onerror=alert(1)>',
        "'></style><style>*{display:none}",
        "{{ 7 * 7 }}{% raw %}",
        "&lt;b&gt;",
        "</svg><script>",
        "\u202egnp.exe\u2066",
        "\x00\x1b[31m\r\n\u2028",
        "שלום مرحبا",
    ],
)
def test_no_text_is_taken_for_markup(shown: Shown, text: str) -> None:
    plain, with_text = page(shown.board, shown), page(hostile(shown.board, text), shown)
    usual, found = Tags(plain), Tags(with_text)
    allowed = {*usual.tags, "li"}
    assert set(found.tags) <= allowed
    names = {name for name, _ in found.attributes}
    assert not {name for name in names if name.startswith("on")}
    assert "style" not in names
    assert found.tags.count("script") == 1
    assert clean(text) in found.text
    assert not any(char in with_text for char in "\u202e\u2066\x00\x1b\u2028")


def test_a_text_without_end_is_cut(shown: Shown) -> None:
    long = page(hostile(shown.board, "x" * 65_536), shown)
    assert len(long) < 150_000
    assert "x" * 4001 not in long  # what is read aloud of a drawing


def test_nothing_in_the_page_is_styled_or_scripted_in_place(shown: Shown) -> None:
    """The content policy would not have it, and something would be missing."""
    html = page(shown.board, shown)
    assert not [name for name, _ in Tags(html).attributes if name == "style"]
    assert "<style" not in html
    assert re.findall(r"<script[^>]*>(.*?)</script>", html) == [""]


def test_the_parts_that_a_reading_does_not_touch_stay_the_same(shown: Shown) -> None:
    pages = Pages(shown.layout)
    before = pages.parts(Moment(shown.board))
    after = pages.parts(Moment(shown.press("59.981")))
    same = {name for name in before if before[name] == after[name]}
    assert {"head", "keys", "link", "warnings", "answer", "keys-note", "keys-skip"} <= same


def test_before_the_first_board_there_is_a_page(shown: Shown) -> None:
    pages = Pages(shown.layout)
    html = pages.page(pages.parts(Moment()) | pages.drawings(Moment()), True, 0)
    assert Tags(html).tags.count("h1") == 1
    assert "Not begun yet" in html


def test_of_a_check_outside_any_session_check_and_value_are_shown(shown: Shown) -> None:
    board = replace(shown.board, session="", rows=(), part="", job="", checks=())
    html = page(board, shown, may_press=False)
    assert "Check of mic-50-75" in html
    assert "59.980" in html
    assert "<svg" not in html
    assert "<table" not in html
    told = replace(board, verdict="passed", reasons=("mean error +0.0005 mm",))
    over = Pages(None).parts(Moment(told, is_over=True))["answer"]
    assert "Check passed" in over
    assert "mean error +0.0005 mm" in over
    assert "permission" not in over


def test_at_the_end_verdict_reasons_journals_and_caution_are_there(tmp_path: Path) -> None:
    shown = Shown(tmp_path / "s")
    shown.press("59.970", "59.971", *MAINS, "59.970", "59.970")
    board = shown.press("50.780", "50.781", *RODS, "50.780", "50.780")
    html = page(board, shown)
    assert "Session accepted" in html
    assert "Accepted" not in html  # in large characters it would be taken for the part
    assert "a licensed practice decide" in html
    assert "stint" not in html
    assert 'data-word="back"' not in html
    said = Pages(shown.layout).parts(
        Moment(board, is_over=True, said=("Mains: serve as they are.",))
    )
    assert "Mains: serve as they are." in said["answer"]
    assert "decided by" not in said["answer"]
    mind = Moment(board, is_over=True, said=(f"Mind: the gauge. {CAUTION}",))
    assert Pages(shown.layout).parts(mind)["answer"].count("a licensed practice decide") == 1


def test_a_held_reading_asks_with_the_largest_buttons(shown: Shown) -> None:
    shown.bench.now_us += SECOND_US
    board = shown.say(TakeReading(reading("58.1", shown.bench.now_us)))
    assert board.status == "asking"
    parts = Pages(shown.layout).parts(Moment(board))
    assert "Keep or drop?" in parts["place"]
    assert "Type keep" not in parts["place"]
    assert re.findall(r'class="large"><button type="button" data-word="(\w+)"', parts["keys"]) == [
        "keep",
        "drop",
    ]
    assert "Held" in parts["value"]


def test_a_session_that_only_stays_open_is_over_too(shown: Shown) -> None:
    parts = Pages(shown.layout).parts(Moment(shown.board, is_over=True))
    assert "Session over" in parts["answer"]
    assert parts["keys"] == ""


def test_stop_says_what_would_be_rejected(shown: Shown) -> None:
    parts = Pages(shown.layout).parts(Moment(replace(shown.board, stop_rejects="no check passed")))
    assert "rejects the session: no check passed" in parts["keys-stop"]
