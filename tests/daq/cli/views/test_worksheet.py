"""The worksheet as a page: every reading a box, nothing fetched, all text escaped."""

import re
from html.parser import HTMLParser

import pytest

from daq.cli.views.worksheet import MOST_ENDS, worksheet
from daq.plan.plan import parse_plan
from daq.plan.worksheet import stints_of
from daq.services.examples import example, examples

EVIL = """\
schema = 1
part = "<script>alert(1)</script> \\u202e & \\"x\\""
[check]
stack = "<b>saved</b>"
[study]
operators = ["<i>A", "B'\\""]
trials = 2
[defaults]
low = "59.97 mm"
high = "59.99 mm"
stations = ["<img src=x>"]
[[journal]]
names = ["M<1>", "שלום"]
group = "a & b"
"""
REPEATED = """\
schema = 1
part = "repeats"
[check]
readings = 12
max_error = "0.003 mm"
[defaults]
low = "59.97 mm"
high = "59.99 mm"
angles_deg = [0, 20, 40, 60, 80, 100, 120, 140, 160]
repeats = 2
[[journal]]
name = "M1"
[[journal]]
name = "M2"
access = "after-strip"
"""


class Page(HTMLParser):
    """What stands in a page: its tags, the attributes of each, its words."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.open: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.words = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs
        if tag != "meta":
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words += data


def page_of(text: str) -> str:
    plan = parse_plan(text, "plan.toml")
    return worksheet(plan, stints_of(plan, {}))


@pytest.mark.parametrize("name", [one.name for one in examples()])
def test_every_reading_has_its_box_once(name: str) -> None:
    plan = parse_plan(example(name).text, name)
    page = page_of(example(name).text)
    total = sum(len(j.stations) * len(j.angles_deg) for j in plan.journals)
    checks = 2 * plan.check.readings * len(stints_of(plan, {}))
    assert page.count("<td><small>") == total + checks
    found = Page(page)
    assert found.open == []
    assert f"{total} readings, numbered in the order of measuring" in found.words


@pytest.mark.parametrize("text", [EVIL, REPEATED, *(one.text for one in examples())])
def test_nothing_is_fetched_and_nothing_runs(text: str) -> None:
    found = Page(page_of(text))
    assert not {"script", "img", "link", "iframe", "i-", "object"} & set(found.tags)
    assert not {"src", "href", "onload", "style"} & {name for name, _ in found.attributes}
    assert "url(" not in page_of(text)
    assert "default-src 'none'" in page_of(text)


def test_text_of_people_is_text() -> None:
    found = Page(page_of(EVIL))
    assert '<script>alert(1)</script> \\u202e & "x"' in found.words
    for words in ("operator <i>A, trial 1", "M<1>", "<img src=x>", "On the stack <b>saved</b>"):
        assert words in found.words
    assert "\u202e" not in found.words
    # 2 journals, 1 station, 4 angles, 2 operators, 2 trials
    assert page_of(EVIL).count("<i></i>") == 32


def test_repeats_and_many_angles_have_rows_of_their_own() -> None:
    page = page_of(REPEATED)
    # 2 journals, 2 stations, 9 angles, 2 repeats; 12 readings before and after
    numbers = [int(number) for number in re.findall(r"<td><small>(\d+)</small>", page)]
    assert len(numbers) == 72 + 24
    assert page.count("<th>120°</th>") == 2
    assert page.count("Strip now.") == 1
    assert page.index("Strip now.") < page.index("<bdi>M2</bdi>")


def test_limits_stand_in_both_units_and_checks_say_what_is_good() -> None:
    words = Page(page_of(REPEATED)).words
    # 59.97 / 25.4 = 2.361 023..., a tenth of 0.02 mm is 0.002 mm, 0.002 / 25.4 = 0.000 078 7...
    assert "59.97 to 59.99 mm (≈ 2.36102 to 2.36181 in)" in words
    assert "Good if mean less stack is at most ± 0.003 mm (≈ 0.000118 in)" in words
    assert "at most 0.002 mm (≈ 0.000079 in) or 3 steps of the gauge, if that is more" in words
    assert "A reading under 59.47 mm or over 60.49 mm is a slip" in words  # window 0.5 mm
    assert "On a stack near the low limit" in words


def test_there_are_lines_for_all_that_a_session_asks_for() -> None:
    words = Page(page_of(example("single-inch").text)).words
    for word in ("Date", "Job", "Operator", "Gauge, its number", "Stack °C, before", "Taper"):
        assert word in words
    # 1.8735 * 25.4 = 47.586 9, 1.8745 * 25.4 = 47.612 3
    assert "1.8735 to 1.8745 in (47.5869 to 47.6123 mm)" in words
    assert "out-of-round, taper under 0.0005 in (0.0127 mm)" in words


def test_the_crank_is_drawn_at_the_head_and_each_sort_of_journal_from_its_end() -> None:
    text = example("v6-shared-pins").text
    found = Page(page_of(text))
    # the crank, and one view for the mains, one for the rods: all have the same angles
    assert found.tags.count("svg") == 3
    page = page_of(text)
    assert page.index("pic-crank") < page.index("pic-end") < page.index("<h2>")
    assert "0° is a mark of your own on the crank." in found.words
    # neither is drawn again with the readings
    assert page.count("0° mark") == 2


def test_of_many_sorts_of_journals_some_are_drawn() -> None:
    journals = "".join(
        f'[[journal]]\nname = "J{at}"\nangles_deg = [{at}]\n' for at in range(MOST_ENDS + 3)
    )
    head = REPEATED.partition("[[journal]]")[0].replace("repeats = 2\n", "")
    assert page_of(head + journals).count("pic-end") == MOST_ENDS
