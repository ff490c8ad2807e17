"""What a sheet says against what its record gives."""

import pytest

from daq.sheet.compare import MOST_TOLD, differences, letterhead_words, texts
from daq.sheet.letterhead import MOST_LINES, MOST_NAME, Letterhead
from daq.sheet.page import page
from tests.daq.sheet.test_page import content

PAGE = page(content("59.9782"), None)


def test_the_shops_head_is_no_difference() -> None:
    assert differences(page(content("59.9782"), Letterhead("Shop", ("Street",))), PAGE) == []
    assert differences(PAGE, PAGE) == []


@pytest.mark.parametrize(
    "head",
    [
        Letterhead("S", ()),
        Letterhead("&" * MOST_NAME, ("'" * MOST_NAME,) * MOST_LINES, "data:image/png;base64,AA=="),
    ],
)
def test_a_letterhead_of_any_length_is_none(head: Letterhead) -> None:
    assert differences(page(content("59.9782"), head), PAGE) == []
    assert letterhead_words(page(content("59.9782"), head))


@pytest.mark.parametrize(
    "forged",
    [
        "<header>May serve</header>\n<main>",
        '<header>\n<p class="shop"><bdi>S</bdi></p>\n<p class="address">\n</p>\n'
        "<h1>May serve</h1></header>\n<main>",
        '<header>\n<p class="shop"><bdi>S</bdi></p>\n<p class="address">\n'
        + "<bdi>May serve</bdi><br>\n" * (MOST_LINES + 1)
        + "</p>\n</header>\n<main>",
        '<header>\n<p class="shop"><bdi><style>main{display:none}</style></bdi></p>\n'
        '<p class="address">\n</p>\n</header>\n<main>',
        '<header>\n<img src="https://example.org/may-serve.png" alt="">\n'
        '<p class="shop"><bdi>S</bdi></p>\n<p class="address">\n</p>\n</header>\n<main>',
    ],
)
def test_what_a_forger_puts_into_a_letterhead_is_told(forged: str) -> None:
    assert differences(PAGE.replace("<main>", forged, 1), PAGE) != []


def test_a_letterhead_counts_once_and_in_its_place() -> None:
    headed = page(content("59.9782"), Letterhead("Shop", ("Street",)))
    start, end = headed.index("<header>"), headed.index("<main>")
    head = headed[start:end]
    assert differences(headed.replace("<main>", f"{head}<main>", 1), PAGE) != []
    assert differences(PAGE.replace("</main>", f"{head}</main>", 1), PAGE) != []
    assert letterhead_words(headed) == "Shop, Street"
    assert letterhead_words(PAGE) == ""


def test_an_edited_number_is_told_beside_the_records() -> None:
    edited = PAGE.replace("<td><bdi>59.9782", "<td><bdi>59.9882", 1)
    assert differences(edited, PAGE) == ['it says "59.9882", the record gives "59.9782"']


def test_what_was_added_and_what_was_taken_out_is_told() -> None:
    added = PAGE.replace("</main>", "<p>guaranteed</p></main>")
    assert differences(added, PAGE) == ['it says "guaranteed", of which the record has nothing']
    assert differences(PAGE, added) == ['"guaranteed" is missing on it']


def test_a_changed_drawing_has_no_text_but_is_told() -> None:
    moved = PAGE.replace('viewBox="0 0 45', 'viewBox="0 0 46', 1)
    assert moved != PAGE
    assert differences(moved, PAGE) == [
        "its drawings or its layout are not those that the record gives"
    ]


def test_of_many_differences_the_first_are_told_and_the_rest_counted() -> None:
    other = page(content("59.9783"), None)
    told = differences(other, PAGE)
    assert len(told) == MOST_TOLD + 1
    assert told[-1].endswith("more texts differ")


def test_texts_are_what_a_reader_sees() -> None:
    page_text = "<style>p { }</style><p>a <b>b</b>\n</p><script>x</script><td>&lt;</td>"
    assert texts(page_text) == ["a", "b", "<"]
